"""Whether failures have become too many for how hard the cases were.

Each case brings its own expected failure probability (from the difficulty of its
scenario, say). The sum asks whether the odds of failing have been multiplied, so
that somebody with hard cases is not flagged for them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import toeplitz  # type: ignore[import-untyped]
from scipy.optimize import brentq  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.bernoulli_cusum import HIGHEST, HORIZON, ROUNDING, answers
from scoring.variation.event_counts import Floats, label_names, numbers

GRID = 400
"""Points below the limit on which the run length is solved: steps between two points are split
so that their mean stays right; twice as many points change it by about 0.25 % (tested)."""


@dataclass(frozen=True, slots=True)
class RiskAdjustedCusum:
    """A risk-adjusted CUSUM.

    Attributes
    ----------
    odds_ratio0, odds_ratio1 : float
        Acceptable and unacceptable factor on the odds of failing.
    h : float
        Limit, in log-likelihood ratio.
    arl0, arl1 : float
        Mean number of cases until a signal at either odds ratio, if cases go on to come in
        this mix.
    alpha, beta : float
        Probability of a false signal, and of no true one, within `horizon` cases.
    horizon : int
        Cases that these are for.
    labels : tuple of str
        Cases in order; missing ones are left out.
    path : tuple of float
        The sum after each case; after a signal the next starts from 0.
    signals : tuple of str
        Cases at which the limit was reached.
    observed, expected : float
        Failures, and failures that the cases' own probabilities expect.
    n : int
        Cases.
    """

    odds_ratio0: float
    odds_ratio1: float
    h: float
    arl0: float
    arl1: float
    alpha: float
    beta: float
    horizon: int
    labels: tuple[str, ...]
    path: tuple[float, ...]
    signals: tuple[str, ...]
    observed: float
    expected: float
    n: int


def risk_adjusted_cusum(
    failures: ArrayLike,
    expected: ArrayLike,
    *,
    odds_ratio1: float = 2.0,
    odds_ratio0: float = 1.0,
    h: float | None = None,
    arl0: float | None = None,
    horizon: int = HORIZON,
    labels: Sequence[Any] | None = None,
) -> RiskAdjustedCusum | TooLittleEvidence:
    """Follow cases of different difficulty until the odds of failing have changed.

    Parameters
    ----------
    failures : array_like
        1 for a failure, 0 for none, in order of time; NaN where missing, which is left out.
    expected : array_like
        Failure probability of each case, between 0 and 1, both excluded; NaN where missing.
    odds_ratio1, odds_ratio0 : float
        Factor on the odds to be found, and the acceptable one. An `odds_ratio1` below
        `odds_ratio0` looks for improvement.
    h : float, optional
        Limit; either this or `arl0` must be given.
    arl0 : float, optional
        Wanted mean number of cases until a false signal.
    horizon : int
        Cases that `alpha` and `beta` are for.
    labels : sequence, optional
        Names of the cases, each once; else 1, 2, ….

    Returns
    -------
    RiskAdjustedCusum or TooLittleEvidence
        ``answers``: there is none.

    Raises
    ------
    DataError
        A value is outside its range, or lengths differ.
    ValueError
        A setting is outside its range.

    Notes
    -----
    Steiner SH, Cook RJ, Farewell VT, Treasure T (2000), Biostatistics 1:441-452 (from memory):
    with ``d(R) = 1 - p + R p`` a failure adds ``log(R1 d(R0) / (R0 d(R1)))`` and a success
    ``log(d(R0) / d(R1))``. Run lengths by a Markov chain on a grid of `GRID` points, with cases
    drawn at random from those given.
    """
    for name, value in (("odds_ratio1", odds_ratio1), ("odds_ratio0", odds_ratio0)):
        if not 0 < value < math.inf:
            raise ValueError(f"{name} {value!r}: wanted a finite number above 0")
    if odds_ratio1 == odds_ratio0 or (h is None) == (arl0 is None) or horizon < 1:
        raise ValueError("wanted two different odds ratios, a horizon from 1, and one of h, arl0")
    wanted = 0.0 if arl0 is None else float(arl0)
    if not 0 <= wanted < math.inf:
        raise ValueError(f"arl0 {arl0!r}: wanted a finite number from 1")
    row, risk, names = _cases(failures, expected, labels)
    if not len(row):
        return TooLittleEvidence("answers", "There is no answer yet.", 0)
    mix = _Mix(risk, odds_ratio0, odds_ratio1)
    if h is None:
        h = _limit(mix, wanted)
    if not 0 < h < math.inf:
        raise ValueError(f"h {h!r}: wanted a finite number above 0")
    path, signals, now = [], [], 0.0
    for at, failed in enumerate(row):
        now = max(0.0, now + float(mix.failure[at] if failed else mix.success[at]))
        path.append(now)
        if now >= h - ROUNDING * max(1.0, h):
            signals.append(names[at])
            now = 0.0
    return RiskAdjustedCusum(
        odds_ratio0=odds_ratio0,
        odds_ratio1=odds_ratio1,
        h=h,
        arl0=mix.run_length(h, odds_ratio0),
        arl1=mix.run_length(h, odds_ratio1),
        alpha=mix.within(h, odds_ratio0, horizon),
        beta=1.0 - mix.within(h, odds_ratio1, horizon),
        horizon=horizon,
        labels=names,
        path=tuple(path),
        signals=tuple(signals),
        observed=float(row.sum()),
        expected=float(risk.sum()),
        n=len(row),
    )


def _cases(
    failures: ArrayLike, expected: ArrayLike, labels: Sequence[Any] | None
) -> tuple[Floats, Floats, tuple[str, ...]]:
    risk = numbers(expected, "expected")
    failed = numbers(failures, "failures")
    if len(risk) != len(failed):
        raise DataError("expected", len(risk), f"one for each answer, {len(failed)}")
    every = label_names(labels, len(risk))
    for name, value in zip(every, risk, strict=True):
        if not (np.isnan(value) or 0 < value < 1):
            raise DataError(f"expected of answer {name}", float(value), "between 0 and 1")
    row, names = answers(np.where(np.isnan(risk), np.nan, failed), every)
    return row, risk[~(np.isnan(risk) | np.isnan(failed))], names


class _Mix:
    """The steps of the cases given, and what walks made of them do."""

    def __init__(self, risk: Floats, ratio0: float, ratio1: float) -> None:
        self.risk = risk
        self.acceptable = ratio0
        self.success: Floats = np.log((1 - risk + ratio0 * risk) / (1 - risk + ratio1 * risk))
        self.failure: Floats = self.success + math.log(ratio1 / ratio0)

    def chain(self, h: float, ratio: float) -> tuple[Floats, Floats]:
        """Return the chances from each grid point to each, and of a signal from each."""
        unit = h / GRID
        odds = ratio * self.risk / (1 - self.risk)
        fails = odds / (1 + odds)
        chance = np.concatenate([fails, 1 - fails]) / len(self.risk)
        step = np.concatenate([self.failure, self.success]) / unit
        below = np.floor(step)
        share = step - below
        # Beyond a whole grid either way it makes no difference how far.
        places = np.clip(np.concatenate([below, below + 1]), -GRID, GRID).astype(int) + GRID
        weights = np.concatenate([chance * (1 - share), chance * share])
        spread = np.bincount(places, weights, 2 * GRID + 1)
        # From point i to point j goes a step of j - i; all that falls below 0 stops there.
        moves: Floats = toeplitz(spread[GRID:0:-1], spread[GRID : 2 * GRID]).astype(float)
        moves[:, 0] = np.cumsum(spread)[GRID:0:-1]
        signal: Floats = np.cumsum(spread[::-1])[:GRID].astype(float)
        return moves, signal

    def run_length(self, h: float, ratio: float) -> float:
        """Return the mean number of cases to a signal; infinite beyond double precision."""
        moves, signal = self.chain(h, ratio)
        side = np.column_stack([np.ones(GRID - 1), signal[1:]])
        # One visit away from 0 is solved, not the whole run: well behaved however long that is.
        away = np.linalg.solve(np.eye(GRID - 1) - moves[1:, 1:], side)
        steps, ends = (moves[0, 1:] @ away + np.array([1.0, signal[0]])).tolist()
        return float(steps / ends) if ends > 0 else math.inf

    def within(self, h: float, ratio: float, n: int) -> float:
        """Return the probability of a signal within `n` cases."""
        moves, signal = self.chain(h, ratio)
        here = np.zeros(GRID)
        here[0] = 1.0
        ended = 0.0
        for _ in range(n):
            ended += float(here @ signal)
            here = here @ moves
        return min(1.0, ended)


def _limit(mix: _Mix, arl0: float) -> float:
    low, high = 1e-3, 1.0
    ratio = mix.acceptable
    while mix.run_length(high, ratio) < arl0:
        low, high = high, high * 1.5
        if high > HIGHEST:
            raise ValueError(f"arl0 {arl0!r}: no limit up to {HIGHEST:g} has it")
    if mix.run_length(low, ratio) >= arl0:
        raise ValueError(f"arl0 {arl0!r}: shorter than with the lowest limit")

    def gap(h: float) -> float:
        return math.log(mix.run_length(h, ratio) / arl0)

    return float(brentq(gap, low, high, xtol=1e-6))
