"""How well an item tells those who score high on the rest from those who score low."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import Floats, numbers
from scoring.variation.proportion_intervals import difference_interval

KELLEY_SHARE = 0.27
"""Share of persons in the upper and in the lower group. Kelley TL (1939), J Educ
Psychol 30:17-24, from memory: 27 % at each end for normally spread scores."""

LEAST_PAIRS = 4
"""Fisher's interval divides by the root of the number of pairs less 3."""


def correlation(
    one: ArrayLike, other: ArrayLike, *, groups: int = 1, confidence: float = CONFIDENCE
) -> Estimate | TooLittleEvidence:
    """Return Pearson's correlation with Fisher's z interval.

    Parameters
    ----------
    one, other : array-like, shape (persons,)
        Pairs with a missing value are left out.
    groups : int
        Number of groups whose means were taken off both; each costs a degree of freedom.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` pairs. ``persons`` (fewer than 4), ``spread``. At exactly -1 or 1 without ends.
    """
    check_confidence(confidence)
    x, y = numbers(one, "value", missing=True), numbers(other, "value", missing=True)
    if len(x) != len(y):
        raise DataError("lengths", (len(x), len(y)), "as many of each")
    both = ~(np.isnan(x) | np.isnan(y))
    x, y = x[both], y[both]
    n = len(x)
    if n - groups + 1 < LEAST_PAIRS:
        said = (
            f"Only {counted(n, 'person', 'people')}; "
            f"at least {LEAST_PAIRS + groups - 1} are needed."
        )
        return TooLittleEvidence("persons", said, n)
    x, y = x - x.mean(), y - y.mean()
    sizes = float(np.sqrt((x**2).mean())), float(np.sqrt((y**2).mean()))
    # Equal fractions may differ in the last place after the mean is taken off.
    if min(sizes) < 1e-10:
        return TooLittleEvidence("spread", "Everybody has the same value.", n)
    value = float(np.clip((x * y).mean() / (sizes[0] * sizes[1]), -1, 1))
    if abs(value) > 1 - 1e-12:
        return Estimate(value, None, None, n, confidence)
    half = -float(ndtri((1 - confidence) / 2)) / math.sqrt(n - groups - 2)
    middle = math.atanh(value)
    return Estimate(value, math.tanh(middle - half), math.tanh(middle + half), n, confidence)


def below_zero(found: Estimate, groups: int = 1) -> float:
    """Return twice the one-sided probability of so low a correlation where there is none.

    At most 1; below ``1 - confidence`` just where the interval lies wholly below 0.
    """
    if abs(found.value) > 1 - 1e-12:
        return 1.0 if found.value > 0 else 0.0
    z = math.atanh(found.value) * math.sqrt(found.n - groups - 2)
    return min(1.0, 2 * float(ndtr(z)))


def point_biserial(
    item: ArrayLike,
    score: ArrayLike,
    *,
    sd: Literal["population", "sample"] = "population",
    confidence: float = CONFIDENCE,
) -> Estimate | TooLittleEvidence:
    """Return the point-biserial correlation of a right/wrong item with a score.

    Parameters
    ----------
    item : array-like, shape (persons,)
        0 and 1.
    score : array-like, shape (persons,)
        Total, or rest score.
    sd : {"population", "sample"}
        ``(M1 - M0) / s * sqrt(p q)`` with s divided by n, which is Pearson's
        correlation; or by n - 1, as some textbooks do, which is smaller by ``sqrt((n - 1) / n)``.
    confidence : float
        Between 0 and 1; Fisher's z interval.
    """
    if sd not in ("population", "sample"):
        raise ValueError(f"sd {sd!r}: wanted 'population' or 'sample'")
    values = numbers(item, "item", missing=True)
    odd = np.flatnonzero(~np.isnan(values) & (values != 0) & (values != 1))
    if odd.size:
        raise DataError(f"item, person {odd[0] + 1}", float(values[odd[0]]), "0 or 1")
    found = correlation(values, score, confidence=confidence)
    if isinstance(found, TooLittleEvidence) or sd == "population":
        return found
    by = math.sqrt((found.n - 1) / found.n)
    low = None if found.low is None else found.low * by
    high = None if found.high is None else found.high * by
    return Estimate(found.value * by, low, high, found.n, confidence)


def biserial(item: ArrayLike, score: ArrayLike) -> float | TooLittleEvidence:
    """Return the biserial correlation: point-biserial times ``sqrt(p q) / normal density at p``.

    It takes right and wrong as a cut through something normally spread, and may pass 1.
    """
    values, scores = numbers(item, "item", missing=True), numbers(score, "score", missing=True)
    found = point_biserial(values, scores)
    if isinstance(found, TooLittleEvidence):
        return found
    share = float(values[~(np.isnan(values) | np.isnan(scores))].mean())
    density = math.exp(-(float(ndtri(share)) ** 2) / 2) / math.sqrt(2 * math.pi)
    return found.value * math.sqrt(share * (1 - share)) / density


def upper_lower(
    credit: ArrayLike,
    score: ArrayLike,
    *,
    share: float = KELLEY_SHARE,
    confidence: float = CONFIDENCE,
) -> Estimate | TooLittleEvidence:
    """Return the upper-lower index: mean credit of the best less that of the weakest.

    Parameters
    ----------
    credit : array-like, shape (persons,)
        Of the item, 0 to 1; persons with a missing value are left out.
    score : array-like, shape (persons,)
        What ranks the persons.
    share : float
        Of persons in each group, above 0 and at most 0.5; rounded to whole persons, at least 1.
        Persons of equal score at a group's edge share its last places.
    confidence : float
        Between 0 and 1. Newcombe's interval for right/wrong items; no ends for partial credit.
    """
    check_confidence(confidence)
    if not 0 < share <= 0.5:
        raise ValueError(f"share {share!r}: wanted above 0 and at most 0.5")
    x, y = numbers(credit, "credit", missing=True), numbers(score, "score", missing=True)
    if len(x) != len(y):
        raise DataError("lengths", (len(x), len(y)), "as many of each")
    both = ~(np.isnan(x) | np.isnan(y))
    x, y = x[both], y[both]
    n = len(x)
    if n < 2:
        return TooLittleEvidence(
            "persons", f"Only {counted(n, 'person', 'people')}; at least 2 are needed.", n
        )
    if np.ptp(y) <= 1e-12:
        return TooLittleEvidence("spread", "Everybody has the same score.", n)
    size = max(1, int(share * n + 0.5))
    size = min(size, n // 2)
    best, worst = float(_top(y, size) @ x), float(_top(-y, size) @ x)
    if np.isin(x, (0.0, 1.0)).all():
        high, low = (float(np.clip(value, 0, size)) for value in (best, worst))
        return difference_interval(high, size, low, size, confidence)
    return Estimate((best - worst) / size, None, None, 2 * size, confidence)


def _top(score: Floats, size: int) -> Floats:
    """Return each person's place, 0 to 1, among the `size` best."""
    edge = np.sort(score)[-size]
    above, at = score > edge, score == edge
    place = np.where(above, 1.0, 0.0)
    place[at] = (size - above.sum()) / at.sum()
    return place


def group_codes(forms: Sequence[Hashable] | None, count: int) -> tuple[Floats, int]:
    """Return the form of each person as a number from 0, and how many forms there are."""
    if forms is None:
        return np.zeros(count), 1
    named = list(forms)
    if len(named) != count:
        raise DataError("forms", f"{len(named)} forms", f"{count}, one for each person")
    codes = {name: float(at) for at, name in enumerate(dict.fromkeys(named))}
    return np.array([codes[name] for name in named]), len(codes)


def within(values: Floats, group: Floats) -> Floats:
    """Take each group's mean off its values; NaN stays."""
    found = values.copy()
    for code in np.unique(group):
        inside = (group == code) & ~np.isnan(values)
        if inside.any():
            found[inside] -= values[inside].mean()
    return found
