"""Who answered which item right: the one layout that every item response figure reads.

Rows are persons, columns items, a cell 1 (right), 0 (wrong) or missing. Persons who
met the same items (a form) and have the same score say the same about a Rasch model,
so the table is kept with how often each row occurs.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_array  # type: ignore[import-untyped]
from scipy.sparse.csgraph import connected_components  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.rating_grid import in_order
from scoring.values_given import labels_given, numbers_given

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """Right and wrong answers of persons to items.

    Attributes
    ----------
    right : ndarray of float, shape (rows, items)
        1 where right, 0 where wrong or not given.
    given : ndarray of float, shape (rows, items)
        1 where there is an answer.
    counts : ndarray of float, shape (rows,)
        How many persons have this row.
    items : tuple
        Names of the columns.
    persons : tuple
        Names of the rows.
    """

    right: Floats
    given: Floats
    counts: Floats
    items: tuple[Hashable, ...]
    persons: tuple[Hashable, ...]

    @property
    def n(self) -> int:
        """Number of persons with at least one answer."""
        return round(float(self.counts[self.given.any(axis=1)].sum()))

    def part(
        self, rows: NDArray[Any] | None = None, columns: NDArray[Any] | None = None
    ) -> Answers:
        """Return the table with some rows and columns only (masks or places)."""
        row = np.arange(len(self.counts))[slice(None) if rows is None else rows]
        column = np.arange(len(self.items))[slice(None) if columns is None else columns]
        return Answers(
            self.right[np.ix_(row, column)],
            self.given[np.ix_(row, column)],
            self.counts[row],
            tuple(self.items[at] for at in column),
            tuple(self.persons[at] for at in row),
        )


def answers(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
) -> Answers:
    """Read a table of right and wrong answers.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong (or True, False); None and NaN were not given or not asked.
        Columns of a pandas DataFrame give the items' names.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs, for a table of response patterns; otherwise once.
    items : sequence, optional
        Names of the columns; otherwise those of the DataFrame, or 1, 2, 3, …

    Returns
    -------
    Answers
        Rows and columns as given.

    Raises
    ------
    DataError
        No table, an answer that is neither 0 nor 1 (see `right_wrong` for partial
        credit), counts or names that do not fit, a name twice.
    """
    if isinstance(responses, Answers):
        if counts is not None or items is not None:
            raise DataError("counts, items", "a read table with both", "neither beside it")
        return responses
    # Only a DataFrame has columns; a plain list has an `index` too, which is no name of a row.
    frame = hasattr(responses, "columns")
    names = items if items is not None else getattr(responses, "columns", None)
    persons = getattr(responses, "index", None) if frame else None
    table = _numbers(responses)
    rows, columns = table.shape
    named = tuple(range(1, columns + 1)) if names is None else tuple(names)
    if len(named) != columns or len(set(named)) != columns:
        raise DataError("items", named, f"{columns} names, each once")
    given = ~np.isnan(table)
    odd = np.argwhere(given & (table != 0) & (table != 1))
    if odd.size:
        row, column = (int(at) for at in odd[0])
        found = float(table[row, column])
        raise DataError(f"row {row}, item {named[column]}", found, "0, 1 or missing")
    times = np.ones(rows) if counts is None else numbers_given(counts, "counts")
    if times.shape != (rows,) or not np.isfinite(times).all() or (times < 0).any():
        raise DataError("counts", times, f"{rows} numbers of 0 and more")
    people = tuple(range(rows)) if persons is None else tuple(persons)
    return Answers(np.where(given, table, 0.0), given.astype(np.float64), times, named, people)


def answers_from_long(
    person: Iterable[Hashable], item: Iterable[Hashable], right: Iterable[Any]
) -> Answers:
    """Read answers in long form: one line for each answer.

    Parameters
    ----------
    person, item : sequence
        Who answered what.
    right : sequence
        1 right, 0 wrong, None or NaN missing.

    Returns
    -------
    Answers
        Persons and items sorted; what a person did not meet is missing.

    Raises
    ------
    DataError
        Lengths differ, an answer occurs twice, or it is neither 0 nor 1.
    """
    who, what = labels_given(person, "person"), labels_given(item, "item")
    credit = numbers_given(right, "right", "0, 1 or missing")
    if not len(who) == len(what) == len(credit):
        raise DataError("lengths", (len(who), len(what), len(credit)), "as many of each")
    persons, items = in_order(set(who)), in_order(set(what))
    row = {name: at for at, name in enumerate(persons)}
    column = {name: at for at, name in enumerate(items)}
    table = np.full((len(persons), len(items)), np.nan)
    seen: set[tuple[Hashable, Hashable]] = set()
    for line, (one, asked, value) in enumerate(zip(who, what, credit, strict=True)):
        if (one, asked) in seen:
            raise DataError(f"line {line}", (one, asked), "one answer of a person to an item")
        seen.add((one, asked))
        table[row[one], column[asked]] = value
    read = answers(table, items=items)
    return Answers(read.right, read.given, read.counts, items, persons)


def right_wrong(credit: ArrayLike, threshold: float = 1.0) -> Floats:
    """Make right and wrong of partial credit: right is a credit of at least `threshold`.

    Parameters
    ----------
    credit : array-like
        Credits; NaN and None are missing and stay so.
    threshold : float
        The least credit that counts as right. 1 (full credit) is what the kit uses
        unless it is told otherwise: a working judgement, no source.

    Returns
    -------
    ndarray of float
        1, 0 and NaN, in the shape of `credit`.
    """
    table = numbers_given(credit, "credit")
    if np.isinf(table).any():
        raise DataError("credit", "an infinite value", "finite credits")
    return np.where(np.isnan(table), np.nan, (table >= threshold).astype(np.float64))


def usable(read: Answers) -> tuple[Answers, dict[Hashable, TooLittleEvidence], Whole]:
    """Leave out items that everybody has right, or wrong, or never met, and persons without any.

    Such an item is only known to be easier (harder) than all the persons; its difficulty has
    no estimate.

    Returns
    -------
    Answers, dict, ndarray of int
        The rest; why each item was left out; the places of the rows kept.
    """
    asked, solved = read.counts @ read.given, read.counts @ read.right
    dropped: dict[Hashable, TooLittleEvidence] = {}
    for name, n, r in zip(read.items, asked, solved, strict=True):
        if n == 0:
            dropped[name] = TooLittleEvidence("answers", f"Nobody answered item {name}.")
        elif r in (0, n):
            word, than = ("right", "easier") if r else ("wrong", "harder")
            said = (
                f"All {n:g} answers to item {name} are {word}. It is {than} than these "
                "people can show; how much, they cannot tell."
            )
            dropped[name] = TooLittleEvidence("both answers", said, round(n))
    kept = read.part(columns=(solved > 0) & (solved < asked))
    rows = np.flatnonzero((kept.counts > 0) & kept.given.any(axis=1))
    return kept.part(rows=rows), dropped, rows


def islands(read: Answers, groups: Sequence[Hashable] | None = None) -> list[list[Hashable]]:
    """Return the items in sets that no person (and no group of persons) ties together.

    Parameters
    ----------
    read : Answers
    groups : sequence, optional
        The group of each row. Persons of one group then tie their items together,
        because they are taken to come from one population.
    """
    met = read.given * (read.counts > 0)[:, None]
    if groups is not None:
        codes = {name: at for at, name in enumerate(dict.fromkeys(groups))}
        member = np.zeros((len(codes), len(met)))
        member[[codes[name] for name in groups], np.arange(len(met))] = 1.0
        met = member @ met
    number, label = connected_components(csr_array(met.T @ met > 0), directed=False)
    return [
        [name for name, at in zip(read.items, label, strict=True) if at == one]
        for one in range(number)
    ]


def strong_parts(read: Answers) -> list[list[Hashable]]:
    """Return the items in sets between which the answers do not run both ways.

    The conditional likelihood has a maximum only if, for every division of the items in
    two sets, somebody has an item of the first right and one of the second wrong
    (Fischer GH (1981), Psychometrika 46:59-77, from memory).
    """
    right = read.right * read.counts[:, None]
    ways = csr_array(right.T @ (read.given - read.right) > 0)
    number, label = connected_components(ways, directed=True, connection="strong")
    return [
        [name for name, at in zip(read.items, label, strict=True) if at == one]
        for one in range(number)
    ]


def forms_of(given: Floats) -> tuple[Floats, Whole]:
    """Return the distinct sets of items met, shape (forms, items), and the form of each row."""
    packed = np.packbits(given.astype(np.bool_), axis=1)
    _, first, of = np.unique(packed, axis=0, return_index=True, return_inverse=True)
    return given[first], of.reshape(-1).astype(np.int64)


def _numbers(responses: ArrayLike) -> Floats:
    table = numbers_given(responses, "responses", "0, 1 or missing")
    if table.ndim != 2:
        raise DataError(
            "responses", f"{table.ndim} dimensions", "rows of persons, columns of items"
        )
    return table
