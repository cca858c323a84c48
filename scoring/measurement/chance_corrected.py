"""Observed agreement against what chance would give, with its interval: the common ground.

Every coefficient of agreement for nominal or weighted categories is
(observed - expected) / (1 - expected). They differ in what they expect.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm  # type: ignore[import-untyped]
from scipy.stats import t as t_distribution

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence
from scoring.measurement.rating_grid import Category

Floats = NDArray[np.float64]
Interval = Literal["score", "t", "normal"]
Ends = Literal["score", "t", "normal", "wilson"]
Expects = Literal["fleiss", "gwet", "brennan_prediger"]

ROUNDING = 1e-12
"""Below this, 1 - expected or a standard error is rounding: double precision keeps about 16
digits, sums over thousands of units about 12 safely."""


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A coefficient of agreement.

    Attributes
    ----------
    name : str
        Which coefficient.
    value : float
        1 is complete agreement, 0 what chance would give; may be below 0.
    low, high : float or None
        Interval; None where the data allow none, and `note` says why.
    standard_error : float
        Of `value`, by the large-sample method that the function names.
    n : int
        Units that the interval rests on.
    raters : int or None
        Raters with at least one rating; None where only counts were given.
    observed, expected : float
        Agreement observed, and expected by chance, 0 to 1.
    categories : tuple
        The scale.
    confidence : float
        Confidence of the interval.
    note : str
        What the reader must know beside the figure; empty if nothing.
    """

    name: str
    value: float
    low: float | None
    high: float | None
    standard_error: float
    n: int
    raters: int | None
    observed: float
    expected: float
    categories: tuple[Category, ...]
    confidence: float = CONFIDENCE
    note: str = ""

    @property
    def estimate(self) -> Estimate:
        """The figure, its interval and the number of units alone."""
        return Estimate(self.value, self.low, self.high, self.n, self.confidence)


def ends(
    value: float,
    standard_error: float,
    *,
    expected: float,
    n: int,
    confidence: float,
    interval: Ends,
) -> tuple[float, float]:
    """Return the ends of an interval of a coefficient of agreement.

    Parameters
    ----------
    value, standard_error : float
        The coefficient and its error.
    expected : float
        Agreement expected by chance.
    n : int
        Independent units.
    confidence : float
        Between 0 and 1.
    interval : {"score", "t", "normal", "wilson"}
        ``normal`` and ``t`` (n - 1 degrees of freedom): value -+ quantile x error, cut at
        1. ``score``: Wilson's interval of the agreement that the coefficient stands for,
        with the number of units that has the same error, carried back; it stays below
        1 and does not shrink to nothing when all agreed. The last is our own choice,
        held by simulation, no source. ``wilson`` is the same with the normal quantile in
        place of that of t.
    """
    quantile = float(
        norm.ppf(0.5 + confidence / 2)
        if interval in ("normal", "wilson") or n < 2
        else t_distribution.ppf(0.5 + confidence / 2, n - 1)
    )
    if interval in ("normal", "t"):
        return value - quantile * standard_error, min(1.0, value + quantile * standard_error)
    share = min(1.0, max(0.0, expected + value * (1 - expected)))
    spread = ((1 - expected) * standard_error) ** 2
    # Where all units are alike the error says nothing, and the units themselves are counted.
    size = share * (1 - share) / spread if spread > ROUNDING**2 and 0 < share < 1 else float(n)
    shrink = quantile**2 / size
    middle = (share + shrink / 2) / (1 + shrink)
    half = np.sqrt(share * (1 - share) * shrink + shrink**2 / 4) / (1 + shrink)
    back = [(end - expected) / (1 - expected) for end in (middle - half, middle + half)]
    return float(min(max(back[0], -1.0), value)), float(max(min(back[1], 1.0), value))


@dataclass(frozen=True, slots=True)
class Parts:
    """What a coefficient is made of, and each unit's pull on it.

    Attributes
    ----------
    value, observed, expected : float
        Coefficient, agreement observed and expected.
    pull : ndarray, shape (units,)
        Linearised value of each unit; their mean is `value`.
    """

    value: float
    observed: float
    expected: float
    pull: Floats


def parts(counts: Floats, weights: Floats, expects: Expects) -> Parts | None:
    """Compute a coefficient from counts; None where it is not defined.

    Parameters
    ----------
    counts : ndarray, shape (units, categories)
        Ratings; each unit has at least one and at least one unit has two.
    weights : ndarray, shape (categories, categories)
        Weights of agreement.
    expects : {"fleiss", "gwet", "brennan_prediger"}
        What chance is taken to give.

    Notes
    -----
    Gwet KL (2008), Br J Math Stat Psychol 61:29-48, and (2014), Handbook of
    Inter-Rater Reliability, 4th ed., chapters 2-5, for missing ratings (from memory).
    A unit with one rating tells how often a category is used, not whether raters agree.
    """
    size = counts.shape[1]
    given = counts.sum(axis=1)
    paired = given >= 2
    agreeing = (counts * (counts @ weights - 1)).sum(axis=1)
    own = np.where(paired, agreeing / np.where(paired, given * (given - 1), 1.0), 0.0)
    observed = float(own.sum() / paired.sum())
    use = counts / given[:, None]
    mean = use.mean(axis=0)
    if expects == "fleiss":
        expected = float(mean @ weights @ mean)
        each = use @ (weights @ mean)
    elif expects == "gwet":
        scale = weights.sum() / (size * (size - 1)) if size > 1 else 0.0
        expected = float(scale * (mean * (1 - mean)).sum())
        each = scale * (use @ (1 - mean))
    else:
        expected = float(weights.sum() / size**2) if size > 1 else 0.0
        each = np.full(len(counts), expected)
    if 1 - expected < ROUNDING:
        return None
    value = (observed - expected) / (1 - expected)
    pull = np.where(paired, own - expected, 0.0) * (len(counts) / paired.sum()) / (1 - expected)
    pull = pull - 2 * (1 - value) * (each - expected) / (1 - expected)
    return Parts(value, observed, expected, pull)


def error_of(pull: Floats, clusters: NDArray[np.int64] | None = None) -> float:
    """Return the standard error of the mean of `pull`, units or clusters of units independent.

    Parameters
    ----------
    pull : ndarray, shape (units,)
        Linearised values.
    clusters : ndarray of int, optional
        Which units belong together, numbered from 0.
    """
    centred = pull - pull.mean()
    sums = centred if clusters is None else np.bincount(clusters, weights=centred)
    groups = len(sums)
    return float(np.sqrt(groups / (groups - 1) * (sums**2).sum()) / len(pull))


def too_little(counts: Floats) -> TooLittleEvidence | None:
    """Say whether there are ratings enough: two units, and two that two raters have rated."""
    given = counts.sum(axis=1) if counts.size else np.zeros(0)
    rated = int((given > 0).sum())
    paired = int((given >= 2).sum())
    if rated == 0:
        return TooLittleEvidence("ratings", "There are no ratings.", 0)
    if paired == 0:
        return TooLittleEvidence(
            "raters", "No unit was rated by two raters, so nothing shows whether they agree.", rated
        )
    if paired < 2:
        return TooLittleEvidence(
            "units", "Only 1 unit was rated by two raters; at least 2 are needed.", paired
        )
    return None
