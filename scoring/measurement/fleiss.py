"""Kappa of many raters: Fleiss' with a kappa for each category, and the exact one (Conger's)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import CONFIDENCE, DataError, TooLittleEvidence, check_confidence
from scoring.measurement.agreement_weights import Named, WeightsAre, agreement_weights
from scoring.measurement.chance_corrected import (
    ROUNDING,
    Coefficient,
    Floats,
    Interval,
    ends,
    parts,
    too_little,
)
from scoring.measurement.gwet import coefficient
from scoring.measurement.rating_grid import (
    Category,
    RatingGrid,
    Rows,
    check_counts,
    rating_grid,
)

Error = Literal["linearised", "jackknife", "bootstrap"]

RESAMPLES = 2000
"""Resamples of a bootstrap: ends of a 95 % interval then move by a few thousandths from seed to
seed. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class FleissKappa:
    """Fleiss' kappa, in total and for each category.

    Attributes
    ----------
    total : Coefficient
        Over all categories.
    by_category : dict of category to Coefficient or TooLittleEvidence
        This category against all others; too little where it was never or always used.
    null_standard_error : float or None
        Error of the total if raters only guessed (Fleiss, Nee and Landis 1979), for the
        test of kappa = 0; None where units have different numbers of ratings.
    null_standard_error_by_category : float or None
        The same for each category.
    """

    total: Coefficient
    by_category: dict[Category, Coefficient | TooLittleEvidence]
    null_standard_error: float | None
    null_standard_error_by_category: float | None

    @property
    def z(self) -> float | None:
        """Kappa over its error under guessing; None where that error is not given."""
        return (
            None
            if self.null_standard_error is None
            else (self.total.value / self.null_standard_error)
        )


def fleiss_kappa(
    ratings: ArrayLike | RatingGrid,
    *,
    rows: Rows | None = None,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
    error: Error = "linearised",
    seed: int | np.random.Generator | None = None,
) -> FleissKappa | TooLittleEvidence:
    """Return Fleiss' kappa from who gave what.

    Parameters
    ----------
    ratings : array-like, shape (units, raters), or RatingGrid
        None and NaN are missing. For a table of counts see `fleiss_kappa_from_counts`.
    rows : {"units", "raters"}, optional
        What a row is; needed unless units outnumber raters.
    categories : sequence, optional
        The whole scale.
    weights, weights_are
        As for :func:`scoring.measurement.gwet.gwet_ac2`; for the total only.
    confidence : float
        Between 0 and 1.
    interval : {"score", "t", "normal"}
        As for :func:`scoring.measurement.gwet.gwet_ac1`.
    error : {"linearised", "jackknife", "bootstrap"}
        Where the standard error of the total is from: Gwet's (2014) linearisation, leaving out
        one unit at a time, or drawing units with replacement. None of them is the error
        under guessing, which is `FleissKappa.null_standard_error`.
    seed : int or Generator, optional
        Must be given for the bootstrap.

    Returns
    -------
    FleissKappa or TooLittleEvidence
        Too little if all ratings are of one category: kappa is then not defined.

    Raises
    ------
    DataError
        The table is unclear or a rating is outside the scale.

    Notes
    -----
    Fleiss JL (1971), Psychol Bull 76:378-382; Fleiss, Nee and Landis (1979), Psychol Bull
    86:974-977; unequal numbers of ratings after Gwet 2014 (all from memory).
    In simulations 95 % ``score`` intervals cover in 93 to 97 % from 40 units on; with a rare
    category (15 %) and moderate agreement only in 76 to 83 % with 20 units, 87 to 91 % with 40,
    91 to 94 % with 100. Look at AC1 there.
    """
    grid = rating_grid(ratings, rows=rows, categories=categories)
    matrix = agreement_weights(grid.categories, weights, weights_are=weights_are)
    return _fleiss(grid.counts, matrix, grid, confidence, interval, error, seed)


def fleiss_kappa_from_counts(
    counts: ArrayLike,
    *,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
    error: Error = "linearised",
    seed: int | np.random.Generator | None = None,
) -> FleissKappa | TooLittleEvidence:
    """Return Fleiss' kappa from how many raters gave each unit each category.

    Parameters
    ----------
    counts : array-like, shape (units, categories)
        Each row sums to the number of raters, the same for every unit: this is how a table
        that lies on its side, or one of ratings, is noticed.
    categories : sequence, optional
        What the columns are; otherwise 1, 2, 3, ….
    weights, weights_are, confidence, interval, error, seed
        As for `fleiss_kappa`.

    Returns
    -------
    FleissKappa or TooLittleEvidence

    Raises
    ------
    DataError
        No counts, or rows with different sums.
    """
    table = check_counts(counts, equal=True)
    names = tuple(categories) if categories is not None else tuple(range(1, table.shape[1] + 1))
    matrix = agreement_weights(names, weights, weights_are=weights_are)
    return _fleiss(table, matrix, names, confidence, interval, error, seed)


def conger_kappa(
    ratings: ArrayLike | RatingGrid,
    *,
    rows: Rows | None = None,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
) -> Coefficient | TooLittleEvidence:
    """Return the exact kappa of many raters (Conger): each rater has habits of his own.

    With two raters it is Cohen's kappa. The standard error leaves out one unit at a time.

    Parameters
    ----------
    ratings, rows, categories, weights, weights_are, confidence, interval
        As for `fleiss_kappa`.

    Returns
    -------
    Coefficient or TooLittleEvidence

    Raises
    ------
    DataError
        As for `fleiss_kappa`.

    Notes
    -----
    Conger AJ (1980), Psychol Bull 88:322-328. With missing ratings each rater's habit is
    taken from the units that this rater did rate (Gwet 2014). From memory.
    """
    check_confidence(confidence)
    grid = rating_grid(ratings, rows=rows, categories=categories)
    matrix = agreement_weights(grid.categories, weights, weights_are=weights_are)
    short = too_little(grid.counts)
    if short is not None:
        return short
    given = (grid.codes[:, :, None] == np.arange(len(grid.categories))).astype(np.float64)
    given = given[given.any(axis=(1, 2))]
    found = _conger(given, matrix)
    if found is None:
        return TooLittleEvidence(
            "variation", "All ratings are of one category, so kappa is not defined.", len(given)
        )
    value, observed, expected = found
    values = _conger_without_each(given, matrix)
    known = values is not None
    spread = _jackknife_error(values) if values is not None else 0.0
    paired = int((given.sum(axis=(1, 2)) >= 2).sum())
    low, high = ends(
        value, spread, expected=expected, n=paired, confidence=confidence, interval=interval
    )
    return Coefficient(
        name="Conger kappa",
        value=value,
        low=low if known else None,
        high=high if known else None,
        standard_error=spread,
        n=len(given),
        raters=int((grid.codes >= 0).any(axis=0).sum()),
        observed=observed,
        expected=expected,
        categories=grid.categories,
        confidence=confidence,
        note="" if known else "One unit alone decides this figure, so it has no interval.",
    )


def _fleiss(
    counts: Floats,
    weights: Floats,
    of: RatingGrid | tuple[Category, ...],
    confidence: float,
    interval: Interval,
    error: Error,
    seed: int | np.random.Generator | None,
) -> FleissKappa | TooLittleEvidence:
    if error not in ("linearised", "jackknife", "bootstrap"):
        raise DataError("error", error, "'linearised', 'jackknife' or 'bootstrap'")
    total = coefficient("Fleiss kappa", "fleiss", counts, weights, of, confidence, interval)
    if isinstance(total, TooLittleEvidence):
        return (
            replace(
                total,
                said="All ratings are of one category, so kappa is not defined.",
            )
            if total.missing == "variation"
            else total
        )
    rated = counts[counts.sum(axis=1) > 0]
    if error != "linearised":
        total = _resampled(total, rated, weights, interval, error, seed)
    by_category: dict[Category, Coefficient | TooLittleEvidence] = {}
    for place, category in enumerate(total.categories):
        pair = np.column_stack([rated[:, place], rated.sum(axis=1) - rated[:, place]])
        one = coefficient(
            f"Fleiss kappa of {category}", "fleiss", pair, np.eye(2), (category, "other"),
            confidence, interval,
        )  # fmt: skip
        by_category[category] = (
            TooLittleEvidence(
                "variation", f"{category}: never or always used; kappa is not defined.", len(rated)
            )
            if isinstance(one, TooLittleEvidence)
            else replace(one, raters=total.raters)
        )
    each, one_category = _under_guessing(rated)
    identity = np.array_equal(weights, np.eye(len(weights)))
    return FleissKappa(total, by_category, each if identity else None, one_category)


def _under_guessing(counts: Floats) -> tuple[float | None, float | None]:
    """Return the errors of the total and of a category's kappa if raters only guessed."""
    given = counts.sum(axis=1)
    if (given != given[0]).any():
        return None, None
    raters, units = given[0], len(counts)
    use = counts.sum(axis=0) / counts.sum()
    both = use * (1 - use)
    one = np.sqrt(2 / (units * raters * (raters - 1)))
    inside = both.sum() ** 2 - (both * (1 - 2 * use)).sum()
    return float(one * np.sqrt(max(inside, 0.0)) / both.sum()), float(one)


def _resampled(
    total: Coefficient,
    counts: Floats,
    weights: Floats,
    interval: Interval,
    error: Error,
    seed: int | np.random.Generator | None,
) -> Coefficient:
    units = len(counts)
    if error == "jackknife":
        drawn = [np.delete(np.arange(units), unit) for unit in range(units)]
    else:
        if seed is None:
            raise DataError("seed", seed, "a seed, so that the bootstrap can be repeated")
        generator = np.random.default_rng(seed)
        drawn = list(generator.integers(0, units, size=(RESAMPLES, units)))
    values = np.array(_values(counts, drawn, lambda taken: parts(taken, weights, "fleiss")))
    if error == "jackknife" and len(values) < units:
        return replace(
            total, low=None, high=None,
            note="One unit alone decides this figure, so it has no interval.",
        )  # fmt: skip
    spread = _jackknife_error(values) if error == "jackknife" else float(values.std(ddof=1))
    low, high = ends(
        total.value, spread, expected=total.expected, n=units, confidence=total.confidence,
        interval=interval,
    )  # fmt: skip
    known = interval == "score" or spread > ROUNDING
    return replace(
        total, standard_error=spread, low=low if known else None, high=high if known else None
    )


def _values(
    counts: Floats, drawn: Sequence[NDArray[np.int64]], compute: Callable[[Floats], object]
) -> list[float]:
    """Return the coefficient of each draw in which it is defined."""
    found: list[float] = []
    for units in drawn:
        taken = counts[units]
        if (taken.sum(axis=1) >= 2).any():
            result = compute(taken)
            if result is not None:
                found.append(float(result.value))  # type: ignore[attr-defined]
    return found


def _jackknife_error(values: Floats) -> float:
    return float(np.sqrt((len(values) - 1) * values.var()))


def _conger(given: Floats, weights: Floats) -> tuple[float, float, float] | None:
    """Return value, observed and expected from indicators (units, raters, categories)."""
    counts = given.sum(axis=1)
    paired = counts.sum(axis=1) >= 2
    rated = given.sum(axis=(0, 2))
    if not paired.any():
        return None
    habits = given.sum(axis=0)[rated > 0] / rated[rated > 0][:, None]
    raters = len(habits)
    all_pairs = habits.sum(axis=0)
    # Pairs of different raters: all pairs less each rater beside himself.
    between = all_pairs @ weights @ all_pairs - np.einsum("gk,kl,gl->", habits, weights, habits)
    expected = float(between / (raters * (raters - 1)))
    some = counts[paired]
    number = some.sum(axis=1)
    own = (some * (some @ weights - 1)).sum(axis=1) / (number * (number - 1))
    observed = float(own.mean())
    if 1 - expected < ROUNDING:
        return None
    return (observed - expected) / (1 - expected), observed, expected


def _conger_without_each(given: Floats, weights: Floats) -> Floats | None:
    """Return the value without each unit in turn; None where one of them has none.

    All at once from the sums less what each unit adds, so that cost grows with the units.
    """
    rated = given.sum(axis=(0, 2)) - given.sum(axis=2)
    habits = (given.sum(axis=0) - given) / np.maximum(rated, 1)[:, :, None]
    raters = (rated > 0).sum(axis=1)
    all_pairs = habits.sum(axis=1)
    between = ((all_pairs @ weights) * all_pairs).sum(axis=1)
    between = between - ((habits @ weights) * habits).sum(axis=(1, 2))
    counts = given.sum(axis=1)
    number = counts.sum(axis=1)
    own = (counts * (counts @ weights - 1)).sum(axis=1) / np.maximum(number * (number - 1), 1)
    own = np.where(number >= 2, own, 0.0)
    left = (number >= 2).sum() - (number >= 2)
    if left.min() == 0 or raters.min() < 2:
        return None
    expected = between / (raters * (raters - 1))
    if (1 - expected).min() < ROUNDING:
        return None
    observed = (own.sum() - own) / left
    found: Floats = (observed - expected) / (1 - expected)
    return found
