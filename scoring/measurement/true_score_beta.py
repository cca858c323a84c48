"""How true scores are spread: a beta distribution fitted to the moments of the observed ones.

A true score is the share of all thinkable items that a person would have right. It is
taken to follow a beta distribution between two bounds; observed scores then are
binomial (or nearly so) around it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoring.evidence import DataError
from scoring.measurement.credit_table import Floats

FEWEST_FOR_FOUR = 4
"""The four-parameter fit needs the fourth factorial moment, which a form of fewer than four
items does not have."""


@dataclass(frozen=True, slots=True)
class TrueScoreBeta:
    """A beta distribution of true scores (shares) between two bounds.

    Attributes
    ----------
    lower, upper : float
        Bounds, ``0 <= lower < upper <= 1``.
    alpha, beta : float
        Shapes, above 0.
    """

    lower: float
    upper: float
    alpha: float
    beta: float

    def __post_init__(self) -> None:
        if not 0 <= self.lower < self.upper <= 1:
            raise DataError("bounds", (self.lower, self.upper), "0 <= lower < upper <= 1")
        if not (0 < self.alpha < math.inf and 0 < self.beta < math.inf):
            raise DataError("shapes", (self.alpha, self.beta), "finite numbers above 0")


def effective_test_length(
    *,
    mean: float,
    variance: float,
    reliability: float,
    minimum: float,
    maximum: float,
    rounded: bool = True,
) -> float:
    """Return the number of right/wrong items whose score would be as reliable.

    ``((mean - min)(max - mean) - r var) / (var (1 - r))``, Livingston and Lewis 1995.

    Parameters
    ----------
    mean, variance : float
        Of the observed scores.
    reliability : float
        Of the scores, above 0 and below 1.
    minimum, maximum : float
        Ends of the scale of the scores.
    rounded : bool
        To the nearest whole number, as the method uses it; at least 1.

    Raises
    ------
    DataError
        Figures that cannot go together.
    """
    if not 0 < reliability < 1:
        raise DataError("reliability", reliability, "between 0 and 1")
    if not minimum < mean < maximum:
        raise DataError("mean", mean, f"between {minimum:g} and {maximum:g}")
    if not 0 < variance < math.inf:
        raise DataError("variance", variance, "above 0")
    room = (mean - minimum) * (maximum - mean)
    if variance > room * (1 + 1e-9):
        raise DataError("variance", variance, f"at most {room:g}, given mean and scale")
    length = (room - reliability * variance) / (variance * (1 - reliability))
    return float(max(1, math.floor(length + 0.5))) if rounded else length


def lords_k(*, items: int, mean: float, variance: float, reliability: float) -> float:
    """Return Lord's k, which makes the binomial error agree with the reliability.

    Parameters
    ----------
    items : int
        Number of right/wrong items.
    mean, variance : float
        Of the number-right scores.
    reliability : float
        Usually KR-20; with KR-21 (same variance) k is 0.

    Notes
    -----
    ``n ((n - 1)(V - E) - n V + M (n - M)) / (2 (M (n - M) - (V - E)))`` with error
    variance ``E = V (1 - r)``; Lord FM (1965), Psychometrika 30:239-270, as in Hanson
    BA (1991), ACT Research Report 91-5. From memory.
    """
    room = mean * (items - mean)
    true = variance * reliability
    if not room - true > 0:
        raise DataError("variance", variance, "less than mean * (items - mean) / reliability")
    return items * ((items - 1) * true - items * variance + room) / (2 * (room - true))


def true_moments(raw: Floats, length: Floats, k: Floats) -> Floats:
    """Return the first four moments of the true score from those of the observed share.

    Parameters
    ----------
    raw : ndarray, shape (sets, 4)
        Mean of the observed share of the maximum and of its powers 2 to 4.
    length : ndarray, shape (sets,)
        Number of items.
    k : ndarray, shape (sets,)
        Lord's k; 0 for binomial errors.

    Returns
    -------
    ndarray, shape (sets, 4)
        NaN where the form has too few items for the moment.
    """
    power = raw * length[:, None] ** np.arange(1, 5)
    m1, m2, m3, m4 = power.T
    falling = np.column_stack((m1, m2 - m1, m3 - 3 * m2 + 2 * m1, m4 - 6 * m3 + 11 * m2 - 6 * m1))
    found = np.full_like(falling, np.nan)
    found[:, 0] = m1 / length
    whole, less_two = length.copy(), np.ones_like(length)
    for order in range(2, 5):
        whole = whole * (length - order + 1)
        if order > 2:
            less_two = less_two * (length - order + 1)
        extra = k * order * (order - 1) * less_two
        below = whole + extra
        fits = (length >= order) & (below > 0)
        np.divide(
            falling[:, order - 1] + extra * found[:, order - 2],
            below,
            out=found[:, order - 1],
            where=fits,
        )
    return found


def fit_four(moments: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Fit bounds and shapes to four moments of the true score.

    Parameters
    ----------
    moments : ndarray, shape (sets, 4)

    Returns
    -------
    ndarray, shape (sets, 4); ndarray of bool
        Lower, upper, alpha, beta; and whether they are a beta distribution within 0 and 1.

    Notes
    -----
    Moments of a Pearson type I curve; Hanson BA (1991), ACT Research Report 91-5 (from
    memory).
    """
    with np.errstate(all="ignore"):
        m1, m2, m3, m4 = moments.T
        variance = m2 - m1**2
        third = m3 - 3 * m1 * m2 + 2 * m1**3
        fourth = m4 - 4 * m1 * m3 + 6 * m1**2 * m2 - 3 * m1**4
        skew, kurtosis = third / variance**1.5, fourth / variance**2
        both = 6 * (kurtosis - skew**2 - 1) / (6 + 3 * skew**2 - 2 * kurtosis)
        inside = (both + 2) ** 2 * skew**2 + 16 * (both + 1)
        lean = (both + 2) * np.abs(skew) / np.sqrt(inside)
        small, large = both / 2 * (1 - lean), both / 2 * (1 + lean)
        alpha = np.where(skew > 0, small, large)
        beta = np.where(skew > 0, large, small)
        width = np.sqrt(variance) / 2 * np.sqrt(inside)
        lower = m1 - alpha / both * width
        found = np.column_stack((lower, lower + width, alpha, beta))
        # Rounding may put a bound of exactly 0 or 1 a hair outside.
        found[:, 0] = np.where(np.abs(found[:, 0]) < 1e-9, 0.0, found[:, 0])
        found[:, 1] = np.where(np.abs(found[:, 1] - 1) < 1e-9, 1.0, found[:, 1])
        good = (
            np.isfinite(found).all(axis=1)
            & (variance > 0)
            & (both > 0)
            & (alpha > 0)
            & (beta > 0)
            & (found[:, 0] >= 0)
            & (found[:, 1] <= 1)
        )
    return found, good


def fit_two(
    moments: Floats, lower: float = 0.0, upper: float = 1.0
) -> tuple[Floats, NDArray[np.bool_]]:
    """Fit the shapes between fixed bounds to the first two moments; as `fit_four`."""
    with np.errstate(all="ignore"):
        mean = (moments[:, 0] - lower) / (upper - lower)
        variance = (moments[:, 1] - moments[:, 0] ** 2) / (upper - lower) ** 2
        both = mean * (1 - mean) / variance - 1
        alpha, beta = mean * both, (1 - mean) * both
        good = np.isfinite(both) & (variance > 0) & (both > 0) & (mean > 0) & (mean < 1)
        good &= (alpha > 0) & (beta > 0)
    return np.column_stack(
        (np.full_like(mean, lower), np.full_like(mean, upper), alpha, beta)
    ), good
