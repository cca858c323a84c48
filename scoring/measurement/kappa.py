"""Cohen's kappa of two raters, plain and weighted, with what bends it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import linprog  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.agreement_weights import Named, WeightsAre, agreement_weights
from scoring.measurement.chance_corrected import ROUNDING, Floats, Interval, ends
from scoring.measurement.rating_grid import MISSING, Category, code_of, scale
from scoring.values_given import numbers_given

PROPORTIONS_SUM = 5e-3
"""How far printed proportions may be from 1 in sum: nine cells rounded to three places can miss
by as much. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class CohenKappa:
    """Cohen's kappa of two raters.

    Attributes
    ----------
    value : float
        1 is complete agreement, 0 what chance would give.
    low, high : float or None
        Interval; None where `interval` was not ``score`` and the error is 0.
    standard_error : float
        Large-sample error (Fleiss, Cohen and Everitt 1969), for intervals.
    null_standard_error : float
        Its error if the raters only guessed, for the test of kappa = 0.
    z, p_value : float or None
        Kappa over the latter, and the two-sided p; None where the error is 0.
    n : int
        Units that both rated.
    left_out : int
        Units that only one of them rated.
    observed, expected : float
        (Weighted) agreement observed, and expected by chance.
    agreement : float
        Share of units with the same category, unweighted.
    maximum : float
        The highest (weighted) kappa that the two raters' totals allow.
    prevalence_index, bias_index : float or None
        For two categories, 0 to 1: how unequal the two agreeing cells are, and the two
        disagreeing cells (Byrt, Bishop and Carlin 1993); None for more categories.
    pabak : float
        Kappa with chance giving each category alike: (q agreement - 1)/(q - 1).
    categories : tuple
        The scale.
    table : tuple of tuple of float
        Shares; rows are the first rater's categories, columns the second's.
    confidence : float
        Confidence of the interval.
    """

    value: float
    low: float | None
    high: float | None
    standard_error: float
    null_standard_error: float
    z: float | None
    p_value: float | None
    n: int
    left_out: int
    observed: float
    expected: float
    agreement: float
    maximum: float
    prevalence_index: float | None
    bias_index: float | None
    pabak: float
    categories: tuple[Category, ...]
    table: tuple[tuple[float, ...], ...]
    confidence: float = CONFIDENCE

    @property
    def estimate(self) -> Estimate:
        """The figure, its interval and the number of units alone."""
        return Estimate(self.value, self.low, self.high, self.n, self.confidence)

    @property
    def variance(self) -> float:
        """Square of `standard_error`."""
        return self.standard_error**2


def cohen_kappa(
    first: Iterable[Any],
    second: Iterable[Any],
    *,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
) -> CohenKappa | TooLittleEvidence:
    """Return Cohen's kappa from two raters' ratings of the same units.

    Parameters
    ----------
    first, second : sequence
        Ratings in the same order of units. A unit with a missing rating (None, NaN) is left
        out and counted in `left_out`.
    categories : sequence, optional
        The whole scale, in order; otherwise the categories found, sorted.
    weights : str or array-like
        ``identity`` (plain kappa), ``linear``, ``quadratic``, ``ordinal``, ``radical``, ``ratio``,
        or a matrix; see :func:`scoring.measurement.agreement_weights.agreement_weights`.
    weights_are : {"agreement", "disagreement"}, optional
        Must be said of a matrix of your own.
    confidence : float
        Between 0 and 1.
    interval : {"score", "normal", "t"}
        ``normal`` is the textbook interval, value -+ z x standard error. ``score`` (default)
        stays within the scale and does not shrink to nothing when all agree; see
        :func:`scoring.measurement.chance_corrected.ends`.

    Returns
    -------
    CohenKappa or TooLittleEvidence
        Too little with fewer than two units, or if both used one and the same category
        throughout: kappa is then not defined.

    Raises
    ------
    DataError
        Lengths differ or a rating is outside the scale.

    Notes
    -----
    Cohen J (1960), Educ Psychol Meas 20:37-46, and (1968), Psychol Bull 70:213-220; errors after
    Fleiss, Cohen and Everitt (1969), Psychol Bull 72:323-327 (from memory).
    """
    one, other = list(first), list(second)
    if len(one) != len(other):
        raise DataError("lengths", (len(one), len(other)), "as many ratings by each rater")
    known = scale([*one, *other], categories)
    place = {category: code for code, category in enumerate(known)}
    codes = np.array(
        [
            (code_of(a, place, f"first, unit {unit}"), code_of(b, place, f"second, unit {unit}"))
            for unit, (a, b) in enumerate(zip(one, other, strict=True))
        ],
        dtype=np.int64,
    ).reshape(-1, 2)
    both = codes[(codes != MISSING).all(axis=1)]
    left_out = int(((codes != MISSING).sum(axis=1) == 1).sum())
    table = np.zeros((len(known), len(known)))
    np.add.at(table, (both[:, 0], both[:, 1]), 1.0)
    matrix = agreement_weights(known, weights, weights_are=weights_are)
    return _kappa(table, len(both), left_out, known, matrix, confidence, interval)


def cohen_kappa_from_table(
    table: ArrayLike,
    n: int | None = None,
    *,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
) -> CohenKappa | TooLittleEvidence:
    """Return Cohen's kappa from the square table of two raters.

    Parameters
    ----------
    table : array-like, shape (categories, categories)
        Counts, or shares that sum to 1 together with `n`.
    n : int, optional
        Units behind the shares; left out for counts.
    categories : sequence, optional
        What rows and columns are; otherwise 1, 2, 3, ….
    weights, weights_are, confidence, interval
        As for `cohen_kappa`.

    Returns
    -------
    CohenKappa or TooLittleEvidence

    Raises
    ------
    DataError
        The table is not square, holds a negative or infinite value, or its sum fits
        neither counts nor shares.
    """
    cells = numbers_given(table, "table", "counts or shares")
    if cells.ndim != 2 or cells.shape[0] != cells.shape[1]:
        raise DataError("table", cells.shape, "as many rows as columns")
    if not np.isfinite(cells).all() or (cells < 0).any():
        raise DataError("table", "a value below 0 or no number", "counts or shares")
    total = float(cells.sum())
    if n is None:
        if not np.array_equal(cells, np.floor(cells)):
            raise DataError("table", cells.tolist(), "whole counts, or shares together with n")
        n = int(total)
    elif abs(total - 1) > PROPORTIONS_SUM and abs(total - n) > PROPORTIONS_SUM * n:
        raise DataError("table", f"a sum of {total:g}", f"shares that sum to 1, or counts to {n}")
    known = tuple(categories) if categories is not None else tuple(range(1, len(cells) + 1))
    if len(known) != len(cells):
        raise DataError("categories", known, f"{len(cells)} categories")
    matrix = agreement_weights(known, weights, weights_are=weights_are)
    return _kappa(cells, n, 0, known, matrix, confidence, interval)


def _kappa(
    table: Floats,
    n: int,
    left_out: int,
    categories: tuple[Category, ...],
    weights: Floats,
    confidence: float,
    interval: Interval,
) -> CohenKappa | TooLittleEvidence:
    check_confidence(confidence)
    if n < 2:
        return TooLittleEvidence(
            "units", f"Only {counted(n, 'unit')} rated by both raters; at least 2 are needed.", n
        )
    share = table / table.sum()
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    observed, expected = float((weights * share).sum()), float(rows @ weights @ columns)
    if 1 - expected < ROUNDING:
        return TooLittleEvidence(
            "variation",
            "Both raters used one and the same category throughout, so kappa is not defined.",
            n,
        )
    value = (observed - expected) / (1 - expected)
    margins = np.add.outer(weights @ columns, weights.T @ rows)
    inside = (share * (weights * (1 - expected) - margins * (1 - observed)) ** 2).sum()
    inside -= (observed * expected - 2 * expected + observed) ** 2
    error = float(np.sqrt(max(inside, 0.0) / n) / (1 - expected) ** 2)
    guessing = (np.outer(rows, columns) * (weights - margins) ** 2).sum() - expected**2
    null = float(np.sqrt(max(guessing, 0.0) / n) / (1 - expected))
    z = value / null if null > ROUNDING else None
    low, high = ends(value, error, expected=expected, n=n, confidence=confidence, interval=interval)
    known = interval == "score" or error > ROUNDING
    size = len(categories)
    agreement = float(np.trace(share))
    return CohenKappa(
        value=value,
        low=low if known else None,
        high=high if known else None,
        standard_error=error,
        null_standard_error=null,
        z=z,
        p_value=None if z is None else float(2 * norm.sf(abs(z))),
        n=n,
        left_out=left_out,
        observed=observed,
        expected=expected,
        agreement=agreement,
        maximum=(_most(rows, columns, weights) - expected) / (1 - expected),
        prevalence_index=abs(float(share[0, 0] - share[1, 1])) if size == 2 else None,
        bias_index=abs(float(share[0, 1] - share[1, 0])) if size == 2 else None,
        pabak=(size * agreement - 1) / (size - 1),
        categories=categories,
        table=tuple(tuple(float(cell) for cell in row) for row in share),
        confidence=confidence,
    )


def _most(rows: Floats, columns: Floats, weights: Floats) -> float:
    """Return the highest weighted agreement that the two raters' totals allow."""
    if np.array_equal(weights, np.eye(len(weights))):
        return float(np.minimum(rows, columns).sum())
    size = len(rows)
    sums = np.vstack([np.kron(np.eye(size), np.ones(size)), np.kron(np.ones(size), np.eye(size))])
    # The last sum follows from the others; leaving it out keeps rounding from making them clash.
    wanted = np.concatenate([rows, columns])[:-1]
    found = linprog(-weights.ravel(), A_eq=sums[:-1], b_eq=wanted, bounds=(0, None))
    return float(-found.fun)
