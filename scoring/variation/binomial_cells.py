"""Answers or counts with their groups and columns, checked and gathered into cells.

Answers that agree in every group and every fixed column are one cell, so that what follows
costs as much as there are cells and not as there are answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog  # type: ignore[import-untyped]
from scipy.special import gammaln  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.values_given import numbers_given
from scoring.variation.laplace import Cells, Index, Vector

LEAST_LEVELS = 3
"""Fewest levels of a group whose spread is estimated. Two levels leave one difference, which
says next to nothing of a spread; enter them as a fixed column. A working judgement, no source."""

COLUMNS_APART = 1e-9
"""A fixed column of which less than this part stands apart from the others is the same as
those: rounding alone leaves about 1e-15 of it. An assumption between the two."""

INTERCEPT = "(Intercept)"


@dataclass(frozen=True, slots=True)
class Gathered:
    """Cells with their names.

    Attributes
    ----------
    cells : Cells
        Counts, design and indices of each cell.
    names : tuple of str
        Names of the columns of the design.
    groups : tuple of str
        Names of the grouping factors.
    levels : tuple of tuple of str
        Levels of each factor, sorted, as text.
    constant : float
        Sum of the logarithms of the binomial coefficients of the rows as given (0 for answers).
    """

    cells: Cells
    names: tuple[str, ...]
    groups: tuple[str, ...]
    levels: tuple[tuple[str, ...], ...]
    constant: float


def gather(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None,
    groups: Mapping[str, Sequence[Any]],
    fixed: Mapping[str, Sequence[Any]] | npt.ArrayLike | None,
    intercept: bool,
    least_levels: int,
) -> Gathered | TooLittleEvidence:
    """Check what was given and gather it by cell.

    Parameters
    ----------
    successes, trials, groups, fixed, intercept, least_levels
        As :func:`scoring.variation.binomial.fit_binomial` documents them.

    Raises
    ------
    DataError
        Counts that are no counts, lengths that differ, a missing code or column value.
    ValueError
        No group was named.
    """
    if not len(groups):
        raise ValueError("groups: name at least one group, {'operator': codes}")
    y, m = count_rows(successes, trials)
    names, design = _design(fixed, intercept, len(y))
    coded = [_coded(name, labels, len(y)) for name, labels in groups.items()]
    kept = np.isfinite(y) & (m > 0)
    y, m, design = y[kept], m[kept], design[kept]
    constant = float(np.sum(gammaln(m + 1) - gammaln(y + 1) - gammaln(m - y + 1)))
    levels: list[tuple[str, ...]] = []
    index: list[Index] = []
    for labels, codes in coded:
        codes = codes[kept]
        used = np.flatnonzero(np.bincount(codes, minlength=len(labels)))
        place = np.zeros(len(labels), dtype=np.int64)
        place[used] = np.arange(len(used))
        levels.append(tuple(str(labels[k]) for k in used))
        index.append(place[codes])
    cells = _merged(y, m, design, index, [len(found) for found in levels])
    gathered = Gathered(cells, names, tuple(map(str, groups)), tuple(levels), constant)
    return _too_little(gathered, least_levels) or gathered


def count_rows(successes: npt.ArrayLike, trials: npt.ArrayLike | None) -> tuple[Vector, Vector]:
    """Return successes (NaN where there is no answer) and trials of each row, checked.

    Raises
    ------
    DataError
        A value that is no count, more successes than trials, or lengths that differ.
    """
    y = _numbers("successes", successes)
    m = np.ones_like(y) if trials is None else _numbers("trials", trials)
    if len(m) != len(y):
        raise DataError("trials", len(m), f"as many as successes, {len(y)}")
    m = np.where(np.isnan(y) | np.isnan(m), 0.0, m)
    y = np.where(m > 0, y, np.nan)
    for name, values in (("successes", y), ("trials", m)):
        wrong = np.flatnonzero(~np.isnan(values) & ((values < 0) | (values != np.floor(values))))
        if wrong.size:
            raise DataError(f"{name}, row {wrong[0] + 1}", float(values[wrong[0]]), "a count")
    over = np.flatnonzero(y > m)
    if over.size:
        wanted = "0 or 1" if trials is None else f"at most the {m[over[0]]:.0f} trials"
        raise DataError(f"successes, row {over[0] + 1}", float(y[over[0]]), wanted)
    return y, m


def _numbers(name: str, given: npt.ArrayLike) -> Vector:
    values = numbers_given(given, name)
    if values.ndim != 1:
        raise DataError(name, f"{values.ndim} dimensions", "one value a row")
    if np.isinf(values).any():
        raise DataError(name, "infinity", "finite numbers")
    return values


def _absent(value: object) -> bool:
    return value is None or value != value


def _coded(name: str, labels: Iterable[Any], rows: int) -> tuple[list[Any], Index]:
    """Return the sorted levels and the number of each row's level.

    A pandas column of categories is read by its numbers: many times faster than its texts.
    """
    categories = getattr(labels, "cat", None)
    if categories is not None:
        return _categories(name, categories, rows)
    listed = np.asarray(labels).tolist() if hasattr(labels, "dtype") else list(labels)
    if any(isinstance(label, list) for label in listed[:1]):
        raise DataError(name, listed[0], "one row of labels")
    if len(listed) != rows:
        raise DataError(name, len(listed), f"as many as successes, {rows}")
    found = dict.fromkeys(listed)
    for label in found:
        if _absent(label):
            row = next(k for k, value in enumerate(listed) if _absent(value))
            raise DataError(f"{name}, row {row + 1}", label, "a code")
    try:
        ordered = sorted(found)
    except TypeError:
        ordered = sorted(found, key=str)
    place = {label: k for k, label in enumerate(ordered)}
    return ordered, np.fromiter(map(place.__getitem__, listed), np.int64, rows)


def _categories(name: str, given: Any, rows: int) -> tuple[list[Any], Index]:
    codes = np.asarray(given.codes, dtype=np.int64)
    if len(codes) != rows:
        raise DataError(name, len(codes), f"as many as successes, {rows}")
    absent = np.flatnonzero(codes < 0)
    if absent.size:
        raise DataError(f"{name}, row {absent[0] + 1}", None, "a code")
    found = list(given.categories)
    try:
        order = sorted(range(len(found)), key=found.__getitem__)
    except TypeError:
        order = sorted(range(len(found)), key=lambda k: str(found[k]))
    place = np.empty(len(found), dtype=np.int64)
    place[order] = np.arange(len(found))
    return [found[k] for k in order], place[codes]


def _design(
    fixed: Mapping[str, Sequence[Any]] | npt.ArrayLike | None, intercept: bool, rows: int
) -> tuple[tuple[str, ...], Vector]:
    """Return names and columns of the fixed effects, text columns as contrasts to a first level."""
    columns: dict[str, Vector] = {INTERCEPT: np.ones(rows)} if intercept else {}
    if fixed is not None and not hasattr(fixed, "items"):
        table = numbers_given(fixed, "fixed")
        table = table[:, None] if table.ndim == 1 else table
        fixed = {f"x{k + 1}": column for k, column in enumerate(table.T)}
    for name, given in {} if fixed is None else fixed.items():
        values = np.asarray(given)
        if values.shape != (rows,):
            raise DataError(str(name), values.shape, f"as many as successes, {rows}")
        if values.dtype.kind in "biuf":
            column = values.astype(float)
            wrong = np.flatnonzero(~np.isfinite(column))
            if wrong.size:
                raise DataError(f"{name}, row {wrong[0] + 1}", float(column[wrong[0]]), "a number")
            columns[str(name)] = column
            continue
        ordered, codes = _coded(str(name), given, rows)
        for k in range(1 if intercept else 0, len(ordered)):
            columns[f"{name}{ordered[k]}"] = (codes == k).astype(float)
    if not columns:
        raise ValueError("neither an intercept nor a fixed column: nothing to estimate")
    return tuple(columns), np.column_stack(list(columns.values()))


def _merged(y: Vector, m: Vector, design: Vector, index: list[Index], sizes: list[int]) -> Cells:
    """Sum the rows that agree in all groups and columns."""
    key = np.zeros(len(y), dtype=np.int64)
    width = 1

    def add(codes: Index, size: int) -> None:
        nonlocal key, width
        if width > 2**62 // max(1, size):  # squeeze before the product overflows
            key = np.unique(key, return_inverse=True)[1].astype(np.int64)
            width = int(key.max(initial=0)) + 1
        key = key * size + codes
        width *= max(1, size)

    for codes, size in zip(index, sizes, strict=True):
        add(codes, size)
    for column in design.T:
        if len(column) and (column != column[0]).any():
            values, codes = np.unique(column, return_inverse=True)
            add(codes.astype(np.int64), len(values))
    if (np.diff(key) > 0).all():  # one row a cell already, in order
        return Cells(y, m, design, tuple(index), tuple(sizes))
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    return Cells(
        successes=np.bincount(inverse, y, len(first)).astype(float),
        trials=np.bincount(inverse, m, len(first)).astype(float),
        design=design[first],
        index=tuple(codes[first] for codes in index),
        sizes=tuple(sizes),
    )


def _too_little(gathered: Gathered, least_levels: int) -> TooLittleEvidence | None:
    cells = gathered.cells
    answers = int(cells.trials.sum())
    if not answers:
        return TooLittleEvidence("answers", "There are no answers yet.", 0)
    for name, size in zip(gathered.groups, cells.sizes, strict=True):
        if size < least_levels:
            said = f"Only {size} of “{name}”; at least {least_levels} are needed."
            return TooLittleEvidence(name, said, size)
    passed = int(cells.successes.sum())
    if passed in (0, answers):
        which = "Every answer counts" if passed else "No answer counts"
        said = f"{which} as a success ({passed} of {answers}), so nothing differs."
        return TooLittleEvidence("difference", said, answers)
    return _not_apart(gathered, answers) or _separated(gathered, answers)


def _not_apart(gathered: Gathered, answers: int) -> TooLittleEvidence | None:
    """Whether a group cannot be told from chance or from another group, or columns from columns."""
    cells, groups = gathered.cells, gathered.groups
    for name, size in zip(groups, cells.sizes, strict=True):
        if size == answers:
            said = f"Each of “{name}” has a single answer, so it cannot be told from chance."
            return TooLittleEvidence("repeats", said, size)
    for i, first in enumerate(groups):
        for k in range(i + 1, len(groups)):
            pairs = len(np.unique(cells.index[i] * cells.sizes[k] + cells.index[k]))
            if pairs == cells.sizes[i] == cells.sizes[k]:
                said = f"“{first}” and “{groups[k]}” always go together and cannot be told apart."
                return TooLittleEvidence("links", said, pairs)
    scaled = cells.design / np.maximum(np.abs(cells.design).max(axis=0), 1e-300)
    kept = np.abs(np.diag(np.linalg.qr(scaled, mode="r")))
    if len(scaled) < scaled.shape[1] or kept.min() < COLUMNS_APART * kept.max():
        said = "The fixed columns say the same thing twice, so their effects cannot be told apart."
        return TooLittleEvidence("columns", said, answers)
    return None


def _separated(gathered: Gathered, answers: int) -> TooLittleEvidence | None:
    """Whether a fixed column splits successes from failures, so that its effect has no end.

    A direction exists along which no answer's fit gets worse (Albert A, Anderson JA (1984),
    Biometrika 71:1-10, from memory); found by linear programming.
    """
    cells = gathered.cells
    scaled = cells.design / np.maximum(np.abs(cells.design).max(axis=0), 1e-300)
    rows, inverse = np.unique(scaled, axis=0, return_inverse=True)
    y = np.bincount(inverse.ravel(), cells.successes, len(rows))
    m = np.bincount(inverse.ravel(), cells.trials, len(rows))
    mixed = rows[(y > 0) & (y < m)]
    if len(mixed) and np.linalg.matrix_rank(mixed) == rows.shape[1]:
        return None
    pure = np.where(y > 0, 1.0, -1.0)[:, None] * rows
    pure = pure[(y == 0) | (y == m)]
    best = linprog(
        -pure.sum(axis=0),
        A_ub=-pure,
        b_ub=np.zeros(len(pure)),
        A_eq=mixed if len(mixed) else None,
        b_eq=np.zeros(len(mixed)) if len(mixed) else None,
        bounds=(-1.0, 1.0),
    )
    if best.x is None or -best.fun < 1e-7:
        return None
    column = gathered.names[
        int(np.argmax(np.abs(best.x) * (np.array(gathered.names) != INTERCEPT)))
    ]
    said = f"“{column}” alone decides between success and failure, so its effect has no end."
    return TooLittleEvidence("separation", said, answers)
