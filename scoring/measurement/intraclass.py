"""Intraclass correlations: how alike raters' numbers for the same target are, in six forms."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import f as f_distribution  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.rating_grid import Rows, in_order
from scoring.values_given import labels_given, numbers_given, unmasked

Floats = NDArray[np.float64]
Form = Literal["ICC1", "ICC2", "ICC3", "ICC1k", "ICC2k", "ICC3k"]

MCGRAW_WONG: dict[Form, str] = {
    "ICC1": "ICC(1)",
    "ICC2": "ICC(A,1)",
    "ICC3": "ICC(C,1)",
    "ICC1k": "ICC(k)",
    "ICC2k": "ICC(A,k)",
    "ICC3k": "ICC(C,k)",
}
"""Names of McGraw and Wong (1996), Psychol Methods 1:30-46 (from memory)."""

NO_DIFFERENCE = 1e-12
"""A sum of squares below this part of the scale's square is rounding, not difference:
double precision keeps about 16 digits, squared differences about 12 of them safely."""


@dataclass(frozen=True, slots=True)
class IntraclassForm:
    """One form of the intraclass correlation.

    Attributes
    ----------
    name, mcgraw_wong : str
        ``ICC1`` … ``ICC3k`` after Shrout and Fleiss, and the name of McGraw and Wong.
    value : float
        1 is no difference between raters; may be below 0.
    low, high : float or None
        Interval; None if raters do not differ at all beyond what the form leaves out. `low` of
        a mean is None too where it is without bound.
    f, df1, df2, p_value : float or None
        Test that targets do not differ; F is None where its divisor is 0.
    n, raters : int
        Targets and raters.
    confidence : float
        Confidence of the interval.
    """

    name: Form
    mcgraw_wong: str
    value: float
    low: float | None
    high: float | None
    f: float | None
    df1: int
    df2: int
    p_value: float | None
    n: int
    raters: int
    confidence: float

    @property
    def estimate(self) -> Estimate:
        """The figure, its interval and the number of targets alone."""
        return Estimate(self.value, self.low, self.high, self.n, self.confidence)


@dataclass(frozen=True, slots=True)
class Intraclass:
    """All six forms, and the mean squares they are made of.

    Attributes
    ----------
    forms : dict of str to IntraclassForm
        By name: ``ICC1``, ``ICC2``, ``ICC3`` for one rater, ``ICC1k``, ``ICC2k``, ``ICC3k`` for
        the mean of all. 1: each target has raters of its own. 2: raters are drawn from many,
        and their severity counts as error (absolute agreement). 3: these raters only, and
        severity does not count (consistency).
    between, within, raters_mean_square, residual : float
        Mean squares of targets (BMS), within targets (WMS), of raters (JMS), residual (EMS).
    n, raters : int
        Targets and raters used.
    dropped : int
        Targets left out because a rating was missing.
    """

    forms: dict[Form, IntraclassForm]
    between: float
    within: float
    raters_mean_square: float
    residual: float
    n: int
    raters: int
    dropped: int


def intraclass(
    ratings: ArrayLike,
    *,
    rows: Rows | None = None,
    missing: Literal["error", "drop"] = "error",
    confidence: float = CONFIDENCE,
) -> Intraclass | TooLittleEvidence:
    """Return the six intraclass correlations of Shrout and Fleiss.

    Parameters
    ----------
    ratings : array-like, shape (targets, raters)
        Numbers, one for each target and rater.
    rows : {"units", "raters"}, optional
        What a row is; units are the targets. Needed unless targets outnumber raters.
    missing : {"error", "drop"}
        Whether a missing rating (None, NaN) is refused, or its target left out and counted.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Intraclass or TooLittleEvidence
        Too little with fewer than two targets or raters, or if no rating differs.

    Raises
    ------
    DataError
        The table is unclear, a value is infinite or no number, or one is missing.

    Notes
    -----
    Shrout PE, Fleiss JL (1979), Psychol Bull 86:420-428. Intervals of forms 1 and 3 are exact
    (from F); of form 2 they are Satterthwaite's approximation as McGraw and Wong (1996) give it.
    """
    table = _table(ratings)
    if rows not in (None, "units", "raters"):
        raise DataError("rows", rows, "'units' or 'raters'")
    if rows is None and table.shape[0] <= table.shape[1] and table.size:
        raise DataError(
            "shape of the ratings",
            f"{table.shape[0]} rows and {table.shape[1]} columns",
            "more targets (rows) than raters (columns), or rows='units' or rows='raters' said",
        )
    return _six(table.T if rows == "raters" else table, missing, confidence)


def intraclass_from_long(
    unit: Iterable[Any],
    rater: Iterable[Any],
    rating: Iterable[Any],
    *,
    missing: Literal["error", "drop"] = "error",
    confidence: float = CONFIDENCE,
) -> Intraclass | TooLittleEvidence:
    """Return the six intraclass correlations from ratings in long form.

    Parameters
    ----------
    unit, rater, rating : sequence
        One line a rating: the target, the rater, the number.
    missing, confidence
        As for `intraclass`. A target that a rater has no line for is missing too.

    Returns
    -------
    Intraclass or TooLittleEvidence

    Raises
    ------
    DataError
        Lengths differ, a rater rated a target twice, or as for `intraclass`.
    """
    of, by = labels_given(unit, "unit"), labels_given(rater, "rater")
    given = list(unmasked(rating))
    if not len(of) == len(by) == len(given):
        raise DataError("lengths", (len(of), len(by), len(given)), "as many of each")
    units = {name: row for row, name in enumerate(in_order(set(of)))}
    raters = {name: column for column, name in enumerate(in_order(set(by)))}
    cells: NDArray[Any] = np.full((len(units), len(raters)), None, dtype=object)
    seen: set[tuple[Any, Any]] = set()
    for line, (one, who, value) in enumerate(zip(of, by, given, strict=True)):
        if (one, who) in seen:
            raise DataError(f"line {line}", (one, who), "one rating of a target by a rater")
        seen.add((one, who))
        cells[units[one], raters[who]] = value
    return _six(_table(cells), missing, confidence)


def _table(ratings: ArrayLike) -> Floats:
    table = numbers_given(ratings, "ratings", "a table of numbers")
    if table.ndim and not table.size:
        return np.empty((0, 0))
    if table.ndim != 2:
        raise DataError("ratings", f"{table.ndim} dimensions", "a table of targets and raters")
    if np.isinf(table).any():
        raise DataError("ratings", "an infinite value", "finite numbers")
    return table


def _six(
    table: Floats, missing: Literal["error", "drop"], confidence: float
) -> Intraclass | TooLittleEvidence:
    check_confidence(confidence)
    if missing not in ("error", "drop"):
        raise DataError("missing", missing, "'error' or 'drop'")
    gaps = np.isnan(table).any(axis=1)
    if gaps.any() and missing == "error":
        raise DataError(
            f"target {int(np.flatnonzero(gaps)[0])}",
            f"a missing rating (in {int(gaps.sum())} targets)",
            "a rating by each rater; missing='drop' leaves such targets out, and a "
            "generalizability study can use them",
        )
    whole = table[~gaps]
    targets, raters = whole.shape
    if raters < 2:
        return TooLittleEvidence(
            "raters", f"Only {counted(raters, 'rater')}; at least 2 are needed.", targets
        )
    if targets < 2:
        return TooLittleEvidence(
            "units",
            f"Only {counted(targets, 'target')} with all ratings; at least 2 are needed.",
            targets,
        )
    centred = whole - whole.mean()
    by_target, by_rater = centred.mean(axis=1), centred.mean(axis=0)
    total = float((centred**2).sum())
    scale = NO_DIFFERENCE * max(float((whole**2).sum()), np.finfo(float).tiny)
    if total <= scale:
        return TooLittleEvidence("variation", "All ratings are the same.", targets)
    between = raters * float((by_target**2).sum()) / (targets - 1)
    severity = targets * float((by_rater**2).sum()) / (raters - 1)
    left = centred - by_target[:, None] - by_rater
    residual = float((left**2).sum()) / ((targets - 1) * (raters - 1))
    within = float(((centred - by_target[:, None]) ** 2).sum()) / (targets * (raters - 1))
    # What is only rounding is 0, so that a divisor is either right or told as missing.
    between, severity, residual, within = (
        value if value > scale else 0.0 for value in (between, severity, residual, within)
    )
    squares = (between, severity, residual, within)
    forms = _forms(squares, targets, raters, confidence)
    if isinstance(forms, TooLittleEvidence):
        return forms
    return Intraclass(forms, between, within, severity, residual, targets, raters, int(gaps.sum()))


def _forms(
    squares: tuple[float, float, float, float], n: int, k: int, confidence: float
) -> dict[Form, IntraclassForm] | TooLittleEvidence:
    between, severity, residual, within = squares
    if between == 0 and residual == 0:
        return TooLittleEvidence(
            "variation", "The targets do not differ at all; only raters do.", n
        )
    tail = 0.5 - confidence / 2
    one = (between - within) / (between + (k - 1) * within)
    drawn_below = between + (k - 1) * residual + k * (severity - residual) / n
    drawn = (between - residual) / drawn_below
    fixed = (between - residual) / (between + (k - 1) * residual)
    limits: dict[str, tuple[float, float] | None] = {
        "1": _exact(between, within, n - 1, n * (k - 1), k, tail),
        "2": _satterthwaite(squares, drawn, n, k, tail),
        "3": _exact(between, residual, n - 1, (n - 1) * (k - 1), k, tail),
    }
    found: dict[Form, IntraclassForm] = {}
    single: tuple[tuple[Form, Form, float, float], ...] = (
        ("ICC1", "ICC1k", one, within),
        ("ICC2", "ICC2k", drawn, residual),
        ("ICC3", "ICC3k", fixed, residual),
    )
    for name, mean, value, divisor in single:
        df2 = n * (k - 1) if name == "ICC1" else (n - 1) * (k - 1)
        ratio = between / divisor if divisor > 0 else None
        p_value = None if ratio is None else float(f_distribution.sf(ratio, n - 1, df2))
        ends = limits[name[3]]
        for form in (name, mean):
            means = form == mean
            # Spearman-Brown carries one rater to the mean of k. It has no value where the
            # mean of k would be infinitely bad: targets differ not at all.
            if means and 1 + (k - 1) * value <= NO_DIFFERENCE:
                return TooLittleEvidence("variation", "The targets' means do not differ at all.", n)
            low, high = (None, None) if ends is None else ends
            if means:
                low, high = _mean_end(low, k), _mean_end(high, k)
            found[form] = IntraclassForm(
                form, MCGRAW_WONG[form], _mean_of(value, k) if means else value, low, high,
                ratio, n - 1, df2, p_value, n, k, confidence,
            )  # fmt: skip
    return found


def _exact(
    between: float, divisor: float, df1: int, df2: int, k: int, tail: float
) -> tuple[float, float] | None:
    if divisor <= 0 or between <= 0:
        return None
    ratio = between / divisor
    low = ratio / float(f_distribution.isf(tail, df1, df2))
    high = ratio * float(f_distribution.isf(tail, df2, df1))
    return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1)


def _satterthwaite(
    squares: tuple[float, float, float, float], value: float, n: int, k: int, tail: float
) -> tuple[float, float] | None:
    between, severity, residual, _ = squares
    if residual <= 0 or between <= 0:
        return None
    if value >= 1:
        return None
    a = k * value / (n * (1 - value))
    b = 1 + k * value * (n - 1) / (n * (1 - value))
    below = (a * severity) ** 2 / (k - 1) + (b * residual) ** 2 / ((n - 1) * (k - 1))
    v = (a * severity + b * residual) ** 2 / below
    up = float(f_distribution.isf(tail, n - 1, v))
    down = float(f_distribution.isf(tail, v, n - 1))
    mixed = k * severity + (k * n - k - n) * residual
    low = n * (between - up * residual) / (up * mixed + n * between)
    high = n * (down * between - residual) / (mixed + n * down * between)
    return min(low, value), max(high, value)


def _mean_end(end: float | None, k: int) -> float | None:
    """Carry an end to the mean of k; None where it is beyond any bound."""
    return None if end is None or 1 + (k - 1) * end <= NO_DIFFERENCE else _mean_of(end, k)


def _mean_of(value: float, k: int) -> float:
    """Carry a correlation of one rater to the mean of k (Spearman-Brown)."""
    return k * value / (1 + (k - 1) * value)
