"""Whether the answers behave as the Rasch model says: item by item, person by person, pair by pair.

Infit and outfit compare squared misses with what the model expects of them (Wright BD, Masters
GN (1982), Rating Scale Analysis, from memory). Both are near 1 where the model holds; above 1
the answers are more erratic, below 1 more orderly than chance allows. Each person's measure comes
from the same answers, so with 15 items the means are about 0.96 (infit) and 0.93 (outfit) even
where the model holds, and the deviates about -0.7: read them as cautious above 1, hasty below.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.measurement.rasch import RaschFit
from scoring.measurement.rasch_conditional import ConditionalFit
from scoring.measurement.rasch_persons import difficulties, person_measures
from scoring.measurement.right_wrong import Floats
from scoring.values_given import numbers_given

FEWEST_ANSWERS = 10
"""Answers needed to judge the fit of an item: with fewer, one surprise decides. A working
judgement, no source."""

FEWEST_ANSWERS_OF_A_PERSON = 3
"""Answers needed to judge the fit of a person. A working judgement, no source."""

FEWEST_SHARED = 30
"""People who answered both items of a pair, for a correlation of their misses (a standard
error of about 0.18). A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Fit of one item or person.

    Attributes
    ----------
    infit, outfit : float
        Mean squares, 0 and more, about 1 where the model holds. Infit weighs each answer
        by its information; outfit is open to a few surprises far off.
    infit_z, outfit_z : float
        The same as normal deviates (Wilson-Hilferty cube root).
    n : int
        Answers behind it.
    """

    infit: float
    outfit: float
    infit_z: float
    outfit_z: float
    n: int


@dataclass(frozen=True, slots=True)
class GroupOfAbility:
    """Right answers of persons of about equal ability to one item, for a figure.

    Attributes
    ----------
    ability : float
        Mean measure of the group, in logits.
    observed, expected : float
        Share right, and what the model expects.
    low, high : float
        Where the share lies in 95 % of samples if the model holds (normal, within 0 to 1).
    n : int
        Persons.
    """

    ability: float
    observed: float
    expected: float
    low: float
    high: float
    n: int


@dataclass(frozen=True, slots=True)
class Dependence:
    """Two items whose misses go together.

    Attributes
    ----------
    first, second : hashable
        The items.
    q3 : float
        Correlation of the misses (Yen WM (1984), Appl Psychol Meas 8:125-145, from memory).
    above : float
        `q3` less the mean of all pairs, which is below 0 by itself, about ``-1 / (items - 1)``.
    n : int
        Persons who answered both.
    """

    first: Hashable
    second: Hashable
    q3: float
    above: float
    n: int


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """Answers less what the model expects, at each person's measure.

    Attributes
    ----------
    residual : ndarray of float, shape (persons, items)
        Right (1 or 0) less chance; NaN where there is no answer or no measure.
    variance : ndarray of float, shape (persons, items)
        ``chance * (1 - chance)``; NaN likewise.
    ability : ndarray of float, shape (persons,)
    counts : ndarray of float, shape (persons,)
        How often each row occurs.
    items, persons : tuple
    """

    residual: Floats
    variance: Floats
    ability: Floats
    counts: Floats
    items: tuple[Hashable, ...]
    persons: tuple[Hashable, ...]


def residuals(fit: RaschFit | ConditionalFit, ability: Floats | None = None) -> Residuals:
    """Return what each answer is above or below its expectation.

    Parameters
    ----------
    fit : RaschFit or ConditionalFit
        The calibration, with the answers it used.
    ability : ndarray of float, shape (persons,), optional
        Measures of the rows of ``fit.answers``; otherwise Warm's weighted likelihood.
        Persons with only right or only wrong answers take part only if measures
        are given: their answers say nothing about fit.
    """
    read = fit.answers
    known = difficulties(fit, read.items)
    if ability is None:
        at = person_measures(read, fit).ability
        score = read.right.sum(axis=1)
        at = np.where((score > 0) & (score < read.given.sum(axis=1)), at, np.nan)
    else:
        at = numbers_given(ability, "ability")
        if at.shape != read.counts.shape or np.isinf(at).any():
            raise DataError("ability", at.shape, f"{len(read.counts)} finite measures or NaN")
    chance = np.where(read.given > 0, expit(at[:, None] - known), np.nan)
    return Residuals(
        read.right - chance, chance * (1 - chance), at, read.counts, read.items, read.persons
    )


def item_fit(
    fit: RaschFit | ConditionalFit | Residuals,
) -> dict[Hashable, Fit | TooLittleEvidence]:
    """Return infit and outfit of each item.

    Parameters
    ----------
    fit : RaschFit, ConditionalFit or Residuals

    Returns
    -------
    dict
        By item; too little where fewer than 10 persons with a measure answered, and for
        the items that the calibration dropped.
    """
    found = fit if isinstance(fit, Residuals) else residuals(fit)
    told: dict[Hashable, Fit | TooLittleEvidence] = dict(
        zip(
            found.items,
            _fits(found.residual.T, found.variance.T, found.counts, FEWEST_ANSWERS, "item"),
            strict=True,
        )
    )
    return told if isinstance(fit, Residuals) else {**told, **fit.dropped}


def person_fit(
    fit: RaschFit | ConditionalFit | Residuals,
) -> dict[Hashable, Fit | TooLittleEvidence]:
    """Return infit and outfit of each person; too little with fewer than 3 answers.

    Persons with only right or only wrong answers have too little too: whatever they
    answered, it fits.
    """
    found = fit if isinstance(fit, Residuals) else residuals(fit)
    ones = np.ones(len(found.items))
    fits = _fits(found.residual, found.variance, ones, FEWEST_ANSWERS_OF_A_PERSON, "person")
    return dict(zip(found.persons, fits, strict=True))


def observed_and_expected(
    fit: RaschFit | ConditionalFit | Residuals, item: Hashable, groups: int = 5
) -> list[GroupOfAbility] | TooLittleEvidence:
    """Return the characteristic curve of an item as observed and as expected.

    Parameters
    ----------
    fit : RaschFit, ConditionalFit or Residuals
    item : hashable
    groups : int
        Groups of about equal size by measure, at most; persons of one measure stay together.

    Returns
    -------
    list of GroupOfAbility or TooLittleEvidence
        From the least able on; too little with fewer than 10 answers.

    Notes
    -----
    What is expected is the chance at each person's measure. A measure from few items is
    itself inexact, so with 12 items and 2,000 persons 88 % of the groups, not 95, lie
    inside `low` to `high` where the model holds; with 500 persons it cannot be seen.
    """
    if groups < 1:
        raise DataError("groups", groups, "1 or more")
    if not isinstance(fit, Residuals) and item in fit.dropped:
        return fit.dropped[item]
    found = fit if isinstance(fit, Residuals) else residuals(fit)
    if item not in found.items:
        raise DataError("item", item, "an item of this fit")
    column = found.items.index(item)
    miss, variance = found.residual[:, column], found.variance[:, column]
    kept = np.flatnonzero(~np.isnan(miss))
    kept = kept[np.argsort(found.ability[kept], kind="stable")]
    times = found.counts[kept]
    n = round(float(times.sum()))
    if n < FEWEST_ANSWERS:
        return _few_answers("item", n, FEWEST_ANSWERS)
    _, level = np.unique(np.round(found.ability[kept], 9), return_inverse=True)
    size = np.bincount(level, weights=times)
    group_of_level = ((np.cumsum(size) - size / 2) * groups / size.sum()).astype(np.int64)
    group = np.minimum(group_of_level, groups - 1)[level]
    told = []
    for one in np.unique(group):
        here, weight = kept[group == one], times[group == one]
        total = float(weight.sum())
        chance = _chances(miss[here], variance[here])
        expected = float(weight @ chance) / total
        half = float(norm.ppf(0.975)) * float(np.sqrt(weight @ variance[here])) / total
        told.append(
            GroupOfAbility(
                float(weight @ found.ability[here]) / total,
                expected + float(weight @ miss[here]) / total,
                expected,
                max(0.0, expected - half),
                min(1.0, expected + half),
                round(total),
            )
        )
    return told


def local_dependence(
    fit: RaschFit | ConditionalFit | Residuals,
    within: Mapping[Hashable, Hashable] | Sequence[Hashable] | None = None,
) -> list[Dependence] | TooLittleEvidence:
    """Return Yen's Q3 of pairs of items, the most dependent first.

    Parameters
    ----------
    fit : RaschFit, ConditionalFit or Residuals
    within : mapping or sequence, optional
        The scenario of each item: only pairs of one scenario are told (the mean is
        still that of all pairs). Otherwise all pairs are.

    Returns
    -------
    list of Dependence or TooLittleEvidence
        Pairs that at least 30 persons answered both of. Too little: no such pair.
    """
    found = fit if isinstance(fit, Residuals) else residuals(fit)
    scenario: dict[Hashable, Hashable] | None = None
    if within is not None:
        if not isinstance(within, Mapping) and len(within) != len(found.items):
            raise DataError("within", len(within), f"{len(found.items)} scenarios, one an item")
        named = (
            within if isinstance(within, Mapping) else dict(zip(found.items, within, strict=True))
        )
        missing = [item for item in found.items if item not in named]
        if missing:
            raise DataError("within", missing, "a scenario for each item")
        scenario = {item: named[item] for item in found.items}
    there = (~np.isnan(found.residual)).astype(np.float64)
    miss = np.where(there > 0, found.residual, 0.0)
    weighted = there * found.counts[:, None]
    n = there.T @ weighted
    safe = np.maximum(n, 1.0)
    ahead = miss.T @ weighted  # sum of the row item's misses over those who met both
    squares = (miss**2).T @ weighted
    covariance = (miss * found.counts[:, None]).T @ miss - ahead * ahead.T / safe
    own = squares - ahead**2 / safe
    spread = np.sqrt(np.maximum(own * own.T, 0.0))
    usable = (n >= FEWEST_SHARED) & (spread > 0)
    q3 = np.divide(covariance, spread, out=np.full_like(spread, np.nan), where=usable)
    upper = np.triu(usable, 1)
    if not upper.any():
        said = f"No two items were answered by at least {FEWEST_SHARED} people with a measure."
        return TooLittleEvidence("pairs", said, round(float(n.max(initial=0.0))))
    mean = float(q3[upper].mean())
    pairs = [
        Dependence(
            found.items[i], found.items[j], float(q3[i, j]), float(q3[i, j]) - mean, round(n[i, j])
        )
        for i, j in np.argwhere(upper).tolist()
        if scenario is None or scenario[found.items[i]] == scenario[found.items[j]]
    ]
    return sorted(pairs, key=lambda pair: -pair.q3)


def _chances(miss: Floats, variance: Floats) -> Floats:
    """Return the chance of a right answer: a miss is 1 - chance or -chance."""
    found: Floats = np.where(miss > 0, 1 - miss, -miss)
    return found


def _few_answers(whose: str, n: int, least: int) -> TooLittleEvidence:
    said = f"Only {counted(n, 'answer')} of use for this {whose}; at least {least} are needed."
    return TooLittleEvidence("answers", said, n)


def _fits(
    residual: Floats, variance: Floats, counts: NDArray[np.float64], least: int, whose: str
) -> list[Fit | TooLittleEvidence]:
    """Return the fit of each row."""
    there = ~np.isnan(residual)
    miss, spread = np.where(there, residual, 0.0) ** 2, np.where(there, variance, 0.25)
    times = there * counts
    n = times.sum(axis=1)
    safe = np.maximum(n, 1.0)
    fourth = spread * (1 - 3 * spread)  # fourth central moment of right (1) or wrong (0)
    total = np.maximum((times * spread).sum(axis=1), np.finfo(float).tiny)
    infit = (times * miss).sum(axis=1) / total
    outfit = (times * miss / spread).sum(axis=1) / safe
    infit_sd = np.sqrt((times * (fourth - spread**2)).sum(axis=1)) / total
    outfit_sd = np.sqrt((times * (fourth / spread**2 - 1)).sum(axis=1)) / safe
    told: list[Fit | TooLittleEvidence] = []
    for row in range(len(n)):
        if n[row] < least:
            told.append(_few_answers(whose, round(n[row]), least))
            continue
        told.append(
            Fit(
                float(infit[row]),
                float(outfit[row]),
                _deviate(float(infit[row]), float(infit_sd[row])),
                _deviate(float(outfit[row]), float(outfit_sd[row])),
                round(n[row]),
            )
        )
    return told


def _deviate(mean_square: float, sd: float) -> float:
    """Wilson-Hilferty: the cube root of a mean square is nearly normal."""
    if sd == 0:
        # Only where every chance is one half: each miss is then the same.
        return 0.0
    return float((np.cbrt(mean_square) - 1) * 3 / sd + sd / 3)
