"""A cut between people known to be competent and people known not to be."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import t as student  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import Floats, numbers
from scoring.measurement.reliability import SAMPLES

Answer = Estimate | TooLittleEvidence

LEAST_EACH = 2
"""A group of one has no spread."""

STEPS = 100
"""Newton steps before a logistic fit is given up; ten are usual. A working judgement."""


@dataclass(frozen=True, slots=True)
class ContrastingGroups:
    """Where the two groups part, by four rules.

    Attributes
    ----------
    midpoint : Estimate or TooLittleEvidence
        Half-way between the means; Welch's interval.
    logistic : Estimate or TooLittleEvidence
        Score at which as many are competent as not, by a logistic line; delta interval, right for
        one sample of a population and too wide for groups of chosen size (99 % instead of 95 in a
        simulation); on the
        mix of the two groups as they are.
    normal : Estimate or TooLittleEvidence
        Where two normal curves of the groups' own means and spreads, each of area
        1, cross between the means; bootstrap interval.
    fewest_wrong : Estimate or TooLittleEvidence
        The cut that misplaces least, the middle where several do; bootstrap interval.
    false_passes, false_fails : int
        Persons misplaced by `fewest_wrong`.
    mean_competent, mean_not : float or None
    n_competent, n_not : int
    """

    midpoint: Answer
    logistic: Answer
    normal: Answer
    fewest_wrong: Answer
    false_passes: int
    false_fails: int
    mean_competent: float | None
    mean_not: float | None
    n_competent: int
    n_not: int


def contrasting_groups(
    scores: ArrayLike,
    competent: ArrayLike,
    *,
    cost_false_pass: float = 1.0,
    cost_false_fail: float = 1.0,
    confidence: float = CONFIDENCE,
    samples: int = SAMPLES,
    seed: int | np.random.Generator = 0,
) -> ContrastingGroups:
    """Return the cuts of the contrasting groups method.

    Parameters
    ----------
    scores : array-like, shape (persons,)
        Persons without a score are left out.
    competent : array-like of bool (or 0 and 1), shape (persons,)
        Whether the person is known to be competent.
    cost_false_pass, cost_false_fail : float
        What a misplaced person counts in `fewest_wrong`, above 0.
    confidence : float
        Between 0 and 1.
    samples, seed
        Of the bootstrap, which draws persons within each group.

    Raises
    ------
    DataError
        Lengths differ, `competent` is neither 0 nor 1, costs not above 0.

    Notes
    -----
    Livingston SA, Zieky MJ (1982), Passing Scores, from memory. `fewest_wrong` lies half-way
    between the two neighbouring scores that it parts; it moves in jumps, and its bootstrap
    interval is a rough guide only.
    """
    check_confidence(confidence)
    if not (0 < cost_false_pass < math.inf and 0 < cost_false_fail < math.inf):
        raise DataError("costs", (cost_false_pass, cost_false_fail), "above 0")
    score = numbers(scores, "score", missing=True)
    group = numbers(competent, "competent")
    if len(score) != len(group):
        raise DataError("lengths", (len(score), len(group)), "as many of each")
    if not np.isin(group, (0.0, 1.0)).all():
        raise DataError("competent", float(group[~np.isin(group, (0, 1))][0]), "0 or 1")
    known = ~np.isnan(score)
    good = np.sort(score[known & (group == 1)])
    poor = np.sort(score[known & (group == 0)])
    n = len(good) + len(poor)
    if min(len(good), len(poor)) < LEAST_EACH:
        few = min(len(good), len(poor))
        said = (
            f"Only {counted(few, 'person', 'people')} in one group; "
            f"at least {LEAST_EACH} are needed in each."
        )
        return _nothing(TooLittleEvidence("persons", said, n), good, poor)
    if good.mean() <= poor.mean():
        said = "The competent group does not score higher than the other."
        return _nothing(TooLittleEvidence("difference", said, n), good, poor)
    random = np.random.default_rng(seed)
    best = good[random.integers(0, len(good), size=(samples, len(good)))]
    rest = poor[random.integers(0, len(poor), size=(samples, len(poor)))]
    costs = cost_false_pass, cost_false_fail
    cuts = _cuts(np.unique(np.concatenate((good, poor))))
    fewest = float(_fewest(good[None], poor[None], cuts, *costs)[0])
    crossing = float(_crossing(good[None], poor[None])[0])
    return ContrastingGroups(
        midpoint=_midpoint(good, poor, confidence),
        logistic=_logistic(good, poor, confidence),
        normal=_percentiles(crossing, _crossing(best, rest), n, confidence),
        fewest_wrong=_percentiles(fewest, _fewest(best, rest, cuts, *costs), n, confidence),
        false_passes=int((poor >= fewest).sum()),
        false_fails=int((good < fewest).sum()),
        mean_competent=float(good.mean()),
        mean_not=float(poor.mean()),
        n_competent=len(good),
        n_not=len(poor),
    )


def _nothing(lack: TooLittleEvidence, good: Floats, poor: Floats) -> ContrastingGroups:
    mean = float(good.mean()) if len(good) else None
    other = float(poor.mean()) if len(poor) else None
    return ContrastingGroups(lack, lack, lack, lack, 0, 0, mean, other, len(good), len(poor))


def _midpoint(good: Floats, poor: Floats, confidence: float) -> Estimate:
    n = len(good) + len(poor)
    value = float(good.mean() + poor.mean()) / 2
    parts = [float(group.var(ddof=1)) / len(group) for group in (good, poor)]
    square = sum(parts)
    if square <= 0:
        return Estimate(value, None, None, n, confidence)
    free = square**2 / sum(
        part**2 / (len(group) - 1) for part, group in zip(parts, (good, poor), strict=True)
    )
    half = float(student.ppf((1 + confidence) / 2, free)) * math.sqrt(square) / 2
    return Estimate(value, value - half, value + half, n, confidence)


def _logistic(good: Floats, poor: Floats, confidence: float) -> Answer:
    n = len(good) + len(poor)
    # Without overlap the likelihood has no maximum.
    if good[0] >= poor[-1]:
        said = "The two groups do not overlap, so the line has no slope."
        return TooLittleEvidence("overlap", said, n)
    score = np.concatenate((good, poor))
    right = np.concatenate((np.ones(len(good)), np.zeros(len(poor))))
    middle, size = float(score.mean()), float(score.std())
    design = np.column_stack((np.ones(n), (score - middle) / size))
    line = np.zeros(2)
    for _ in range(STEPS):
        share = expit(design @ line)
        bend = design.T @ (design * (share * (1 - share))[:, None])
        step = np.linalg.solve(bend, design.T @ (right - share))
        # A long step overshoots where groups barely overlap.
        step *= min(1.0, 5.0 / max(5.0, float(np.abs(step).max())))
        line = line + step
        if np.abs(step).max() < 1e-10:
            break
    else:
        return TooLittleEvidence("overlap", "The two groups hardly overlap.", n)
    if line[1] <= 0:
        return TooLittleEvidence("difference", "The line does not rise with the score.", n)
    at = -line[0] / line[1]
    slope = np.array([-1 / line[1], line[0] / line[1] ** 2])
    error = math.sqrt(float(slope @ np.linalg.solve(bend, slope)))
    half = float(student.ppf((1 + confidence) / 2, math.inf)) * error * size
    value = float(middle + at * size)
    return Estimate(value, value - half, value + half, n, confidence)


def _crossing(good: Floats, poor: Floats) -> Floats:
    """Return where the normal curves cross between the means; NaN where they do not."""
    high, low = good.mean(axis=1), poor.mean(axis=1)
    a, b = good.var(axis=1, ddof=1), poor.var(axis=1, ddof=1)
    found = np.full(len(high), np.nan)
    usable = (high > low) & (a > 1e-12) & (b > 1e-12)
    high, low, a, b = high[usable], low[usable], a[usable], b[usable]
    # Bisection on the difference of the log densities, which has one root between the means.
    under, over = low.copy(), high.copy()

    def gap(x: Floats) -> Floats:
        value: Floats = (x - low) ** 2 / b - (x - high) ** 2 / a + np.log(b / a)
        return value

    cross = (gap(low) < 0) & (gap(high) > 0)
    for _ in range(60):
        half = (under + over) / 2
        below = gap(half) < 0
        under, over = np.where(below, half, under), np.where(below, over, half)
    found[np.flatnonzero(usable)[cross]] = ((under + over) / 2)[cross]
    return found


def _cuts(values: Floats) -> Floats:
    """Return a cut between any two neighbouring scores, one below all and one above all."""
    between = (values[1:] + values[:-1]) / 2
    return np.concatenate(([values[0]], between, [np.nextafter(values[-1], np.inf)]))


def _fewest(
    good: Floats, poor: Floats, cuts: Floats, false_pass: float, false_fail: float
) -> Floats:
    found = np.empty(len(good))
    for at, (best, rest) in enumerate(
        zip(np.sort(good, axis=1), np.sort(poor, axis=1), strict=True)
    ):
        cost = false_fail * np.searchsorted(best, cuts, side="left")
        cost = cost + false_pass * (len(rest) - np.searchsorted(rest, cuts, side="left"))
        least = np.flatnonzero(cost <= cost.min() + 1e-9)
        found[at] = cuts[least[(len(least) - 1) // 2]]
    return found


def _percentiles(value: float, drawn: Floats, n: int, confidence: float) -> Answer:
    if not math.isfinite(value):
        said = "The two curves do not cross between the means of the groups."
        return TooLittleEvidence("crossing", said, n)
    kept = drawn[np.isfinite(drawn)]
    if len(kept) < max(2, len(drawn) / 2):
        return Estimate(value, None, None, n, confidence)
    tail = (1 - confidence) / 2
    low, high = (float(end) for end in np.quantile(kept, (tail, 1 - tail)))
    return Estimate(value, min(low, value), max(high, value), n, confidence)
