"""Intervals of variances and of their shares by profile likelihood, all ends at once.

A value lies inside as long as the deviance, the other parameters at their best for it, is
less than a height above the least. The restricted likelihood is used when the fit used it.
The usual height is a chi-squared quantile, which covers too little, and on one side, when there
are few levels (12 levels: 92.6 instead of 95 %, measured). So the height of each end is the one
that is exact for a single mean square (chi-squared) or a ratio of two (F) of as many degrees of
freedom; with many levels the two are one. That calibration is our own. It covered 94 to 96 % of
1,000 simulated truths of each variance and share: 5 operators with 8 values each, 5 x 8, 20 x 6
and 20 x 6 x 3 crossed, 48 x 12 with 30 % of the cells missing.

At an end the deviance stands at that height and its slope is parallel to that of the quantity;
Newton's steps find such places on exact derivatives (Venzon DJ, Moolgavkar SH (1988), Applied
Statistics 37:87-94; from memory). Ends that they miss are looked for one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri, fdtri  # type: ignore[import-untyped]

from scoring.variation.mixed_curvature import best, profiled, whole
from scoring.variation.mixed_likelihood import Likelihood, Numbers
from scoring.variation.profile_search import Ends, share_ends, variance_ends

STEPS = 40
"""Most steps of all ends; most take 6 to 10. A safeguard."""
LONGEST = 1.5
"""Longest step of a logarithm. A working judgement, no source."""
CLOSE = 1e-7
"""Height and slope that count as reached. A working judgement: ends are then good to about as
many digits."""
GONE = -16.0
"""Logarithm of a relative variance times its mean count below which it is 0. A judgement."""


@dataclass(frozen=True)
class Aim:
    """One end: which variance or share, and which way."""

    at: int
    share: bool
    up: bool


def profile_intervals(
    model: Likelihood, gamma: Numbers, residual: float, confidence: float
) -> list[tuple[Ends, Ends]]:
    """Return (variance, share) intervals of every factor and of the residual.

    Parameters
    ----------
    model : Likelihood
        On standardised outcomes.
    gamma : ndarray
        Variances over the residual's at the best.
    residual : float
        The residual's variance.
    confidence : float
        Confidence.

    Returns
    -------
    list
        One pair for each factor, then the residual; an end that is not found is None.
    """
    k = len(gamma)
    drops = heights(model, gamma, confidence)
    least = float(profiled(model, gamma[None])[0][0])
    without = []
    for at in range(k):
        start = np.where(gamma > 0, gamma, 1e-3)
        held = best(model, (at,), start) if gamma[at] > 0 else gamma
        without.append(float(profiled(model, held[None])[0][0]) - least)
    nothing = float(profiled(model, np.zeros((1, k)))[0][0]) - least
    aims = []
    for at in range(k + 1):
        for share in (False, True):
            if at == k and share and (k == 1 or not gamma.any()):
                continue  # known from the other share, or no path leads there from 0: see below
            if at == k or without[at] > drops[Aim(at, share, False)]:
                aims.append(Aim(at, share, False))
            if at < k or not share or nothing > drops[Aim(at, share, True)]:
                aims.append(Aim(at, share, True))
    found = _places(model, gamma, residual, aims, least + np.array([drops[aim] for aim in aims]))
    ends: dict[Aim, float | None] = dict(zip(aims, found, strict=True))
    if not gamma.any():
        ends[Aim(k, True, False)] = None
    values = np.append(gamma, 1.0) * residual
    if k == 1:
        for up in (False, True):
            other = ends.get(Aim(0, True, not up), 1.0 if not up else 0.0)
            ends[Aim(1, True, up)] = None if other is None else 1 - other
    out = []
    for at in range(k + 1):
        pairs: list[Ends] = []
        for share in (False, True):
            low = ends.get(Aim(at, share, False), 0.0)
            high = ends.get(Aim(at, share, True), 1.0)
            value = float(values[at] / (values.sum() if share else 1.0))
            # An end on the wrong side or not found was missed: it is looked for slowly.
            if low is None or high is None or not low <= value <= high:
                seek = share_ends if share else variance_ends
                pair = (least + drops[Aim(at, share, up)] for up in (False, True))
                pairs.append(seek(model, np.sqrt(gamma), at, *pair))
            else:
                pairs.append((low, high))
        out.append((pairs[0], pairs[1]))
    return out


def heights(model: Likelihood, gamma: Numbers, confidence: float) -> dict[Aim, float]:
    """Return how far above the least the deviance stands at each end."""
    tail = (1 - confidence) / 2
    degrees = np.array(model.degrees())
    variances = np.append(gamma, 1.0)
    found = {}
    for at, df in enumerate(degrees):
        others = np.delete(variances, at)
        weights = np.delete(variances**2 / degrees, at)
        rest = float(others.sum() ** 2 / weights.sum()) if others.any() else 1.0
        for up in (False, True):
            upper = tail if not up else 1 - tail
            x = float(chdtri(df, upper)) / df
            found[Aim(at, False, up)] = df * (x - 1 - np.log(x))
            x = float(fdtri(df, rest, 1 - upper))
            whole_df = df + rest
            found[Aim(at, True, up)] = whole_df * np.log((df * x + rest) / whole_df) - (
                df * np.log(x)
            )
    return {aim: float(height) for aim, height in found.items()}


def _quantity(aims: list[Aim], x: Numbers, zero: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return logarithm of each variance or logit of each share, its slope and its curve."""
    rows, k = zero.shape
    value, slope = np.empty(rows), np.zeros((rows, k + 1))
    curve = np.zeros((rows, k + 1, k + 1))
    gamma = np.append(np.where(zero, 0.0, np.exp(x[:, :k])), np.ones((rows, 1)), axis=1)
    for row, aim in enumerate(aims):
        if not aim.share:
            value[row] = x[row, k] + (x[row, aim.at] if aim.at < k else 0.0)
            slope[row, k] = 1.0
            if aim.at < k:
                slope[row, aim.at] = 1.0
            continue
        others = gamma[row].copy()
        others[aim.at] = 0.0
        total = max(float(others.sum()), 1e-300)
        part = others[:k] / total
        value[row] = (x[row, aim.at] if aim.at < k else 0.0) - np.log(total)
        slope[row, :k] = -part
        curve[row, :k, :k] = np.outer(part, part) - np.diag(part)
        if aim.at < k:
            slope[row, aim.at] = 1.0
    return value, slope, curve


def _places(
    model: Likelihood,
    gamma: Numbers,
    residual: float,
    aims: list[Aim],
    heights: Numbers,
) -> list[float | None]:
    """Return the end of each aim, None where Newton's steps do not settle."""
    k, rows = len(gamma), len(aims)
    drops = heights - profiled(model, gamma[None])[0][0]
    x = np.empty((rows, k + 1))
    x[:, :k] = np.log(np.maximum(gamma, 1e-300))
    x[:, k] = np.log(residual)
    zero = np.repeat((gamma == 0)[None], rows, axis=0)
    _, rise, bend = profiled(model, gamma[None])
    for row, aim in enumerate(aims):
        if aim.at < k and gamma[aim.at] == 0:  # from 0, to where a parabola says
            a, b = max(0.5 * bend[0, aim.at, aim.at], 1e-12), max(float(rise[0, aim.at]), 0.0)
            x[row, aim.at] = np.log((np.sqrt(b * b + 4 * a * drops[row]) - b) / (2 * a))
            zero[row, aim.at] = False
    multiplier = np.empty(rows)
    start = whole(model, x, zero)
    _, toward, _ = _quantity(aims, x, zero)
    for row, aim in enumerate(aims):
        keep = np.append(~zero[row], True)
        h = toward[row][keep]
        away = np.linalg.solve(_steep(start[2][row][np.ix_(keep, keep)]), h)
        reach = np.sqrt(drops[row] / max(float(h @ away), 1e-12))
        if not (aim.at < k and gamma[aim.at] == 0):
            x[row, keep] += _short(away * (reach if aim.up else -reach))
        multiplier[row] = 2 * reach * (1 if aim.up else -1)
    ends = _walk(model, aims, (x, zero, multiplier), heights)
    again = [row for row in range(rows) if ends[row] is None]
    solved = [row for row in range(rows) if ends[row] is not None]
    if again and solved:
        # A second try from whichever end that was found lies farthest that way.
        for row in again:
            told = _quantity([aims[row]] * len(solved), x[solved], zero[solved])[0]
            near = solved[int(np.argmax(told if aims[row].up else -told))]
            x[row], zero[row] = x[near], zero[near]
        some = [aims[row] for row in again]
        slope, toward = (
            of[1]
            for of in (whole(model, x[again], zero[again]), _quantity(some, x[again], zero[again]))
        )
        multiplier[again] = (slope * toward).sum(axis=1) / (toward**2).sum(axis=1)
        state = (x[again], zero[again], multiplier[again])
        for row, end in zip(again, _walk(model, some, state, heights[again]), strict=True):
            ends[row] = end
    return ends


def _walk(
    model: Likelihood,
    aims: list[Aim],
    state: tuple[Numbers, Numbers, Numbers],
    heights: Numbers,
) -> list[float | None]:
    """Take Newton's steps from the places in `state`, which is changed; None: not settled."""
    x, zero, multiplier = state
    rows, k = zero.shape
    mean_count = model.sums.n / np.array(model.sums.levels)
    left = np.arange(rows)
    ends: list[float | None] = [None] * rows
    for _ in range(STEPS):
        here = [aims[row] for row in left]
        value, slope, curve, plain = whole(model, x[left], zero[left])
        told, toward, turned = _quantity(here, x[left], zero[left])
        done = []
        for at, row in enumerate(left.tolist()):
            keep = np.append(~zero[row], True)
            g, h = slope[at][keep], toward[at][keep]
            over = value[at] - heights[row]
            aside = g - multiplier[row] * h
            if abs(over) < CLOSE and np.max(np.abs(aside)) < 1e-4 * (1 + abs(multiplier[row])):
                loose = zero[row] & (plain[at] / mean_count < -1e-5)
                if not loose.any():
                    quantity = float(told[at])
                    share = 1 / (1 + np.exp(-quantity))
                    ends[row] = float(share if here[at].share else np.exp(quantity))
                    done.append(row)
                    continue
                zero[row] &= ~loose
                x[row, :k][loose] = np.log(1e-3 / mean_count[loose])
                continue
            size = len(g)
            system = np.zeros((size + 1, size + 1))
            system[:size, :size] = (
                curve[at][np.ix_(keep, keep)] - multiplier[row] * turned[at][np.ix_(keep, keep)]
            )
            system[:size, size], system[size, :size] = -h, g
            try:
                step = np.linalg.solve(system, -np.append(aside, over))
            except np.linalg.LinAlgError:
                done.append(row)
                continue
            longest = float(np.abs(step[:size]).max())
            damped = min(1.0, LONGEST / longest) if longest > 0 else 1.0
            x[row, keep] += damped * step[:size]
            multiplier[row] += damped * step[size]
            gone = ~zero[row] & (x[row, :k] + np.log(mean_count) < GONE)
            if here[at].at < k:
                gone[here[at].at] = False
            zero[row] |= gone
            if np.abs(x[row, keep]).max() > 100 and not gone.any():
                done.append(row)
        left = np.setdiff1d(left, done)
        if not len(left):
            break
    return ends


def _steep(curve: Numbers) -> Numbers:
    """Return the curve with its directions that do not rise turned to rise."""
    own, axes = np.linalg.eigh(curve)
    own = np.maximum(np.abs(own), 1e-6 * float(np.abs(own).max()))
    found: Numbers = (axes * own) @ axes.T
    return found


def _short(step: Numbers) -> Numbers:
    """Return a step no longer than allowed."""
    longest = float(np.abs(step).max())
    return step * min(1.0, LONGEST / longest) if longest > 0 else step
