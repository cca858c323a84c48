"""How many points a set of run rules lets pass before it signals, by chance or after a change."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from scipy.sparse import csr_matrix, identity  # type: ignore[import-untyped]
from scipy.sparse.linalg import spsolve  # type: ignore[import-untyped]
from scipy.special import ndtr  # type: ignore[import-untyped]

from scoring.evidence import Estimate
from scoring.marking.interval import Z95
from scoring.variation.event_counts import Floats
from scoring.variation.run_rules import Rule, completed, rule_set, sides

RUNS = 4000
"""Simulated rows for rules that no chain of zones can hold: the standard error of an average run
length is then about 1.6 % of it. A working judgement, no source."""

BLOCK = 256
"""Points drawn at once in a simulation; no effect on the result but its speed."""

State = tuple[tuple[int, ...], ...]
"""For each rule and side, the ages (1 is the newest point) of the points that still count."""


def run_rule_arl(
    rules: str | Sequence[Rule] = "western-electric",
    shift: float = 0.0,
    *,
    spread: float = 1.0,
    seed: int = 1,
) -> Estimate:
    """Return the average number of points until the first signal.

    Parameters
    ----------
    rules : str or sequence of Rule
        As in :func:`scoring.variation.run_rules.run_rules`.
    shift : float
        How far the mean lies from the centre line, in standard errors.
    spread : float
        True standard deviation as a multiple of the one behind the limits, above 0.
    seed : int
        Of the simulation, where one is needed.

    Returns
    -------
    Estimate
        Rules of zones alone: exact, `low` and `high` equal to `value`, `n` 0. With trends or
        alternation: simulated over `n` rows, with its 95 % interval.

    Raises
    ------
    ValueError
        The rules are unknown or `spread` is not above 0.

    Notes
    -----
    Independent normal points with known centre and standard error, from the first point on
    (zero state). Exact by the Markov chain of Champ CW, Woodall WH (1987), Technometrics
    29:393-399 (from memory): the state holds the recent points that can still matter.
    Counts and proportions are not quite normal, so for a chart of them this is a guide.
    """
    if not spread > 0:
        raise ValueError(f"spread {spread!r}: wanted a number above 0")
    return _arl(rule_set(rules), float(shift), float(spread), seed)


@lru_cache(maxsize=256)
def _arl(rules: tuple[Rule, ...], shift: float, spread: float, seed: int) -> Estimate:
    if any(rule.where in ("rising", "alternating") for rule in rules):
        return _simulated(rules, shift, spread, seed)
    exact = _exact(rules, shift, spread)
    return Estimate(exact, exact, exact, 0)


def _exact(rules: tuple[Rule, ...], shift: float, spread: float) -> float:
    cuts = np.array(sorted({sign * rule.distance for rule in rules for sign in (-1.0, 1.0)}))
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    chances = np.diff(ndtr((edges - shift) / spread))
    # One point inside each zone stands for it.
    inner = np.concatenate([[cuts[0] - 1], (cuts[:-1] + cuts[1:]) / 2, [cuts[-1] + 1]])
    watched = [(rule, fits[0]) for rule in rules for _, fits in sides(inner[None, :], rule)]
    start: State = tuple(() for _ in watched)
    index: dict[State, int] = {start: 0}
    waiting, steps = [start], []
    while waiting:
        state = waiting.pop()
        for zone, chance in enumerate(chances):
            after = _after(state, watched, zone)
            if after is None:
                continue
            if after not in index:
                index[after] = len(index)
                waiting.append(after)
            steps.append((index[state], index[after], float(chance)))
    rows, columns, weights = zip(*steps, strict=True)
    size = len(index)
    stays = csr_matrix((weights, (rows, columns)), shape=(size, size))
    lengths: Floats = spsolve((identity(size) - stays).tocsc(), np.ones(size))
    return float(lengths[0])


def _after(state: State, watched: Sequence[tuple[Rule, Floats]], zone: int) -> State | None:
    """Return the state one point later, None when a rule is met."""
    after = []
    for ages, (rule, fits) in zip(state, watched, strict=True):
        older = tuple(age + 1 for age in ages if age + 1 < rule.window)
        if fits[zone]:
            # The window of the new point reaches back window - 1 points.
            if 1 + len(ages) >= rule.count:
                return None
            older = (1, *older)
        after.append(_still_matters(older, rule))
    return tuple(after)


def _still_matters(ages: tuple[int, ...], rule: Rule) -> tuple[int, ...]:
    """Drop points that no later window can complete a pattern with, oldest first."""
    kept = list(ages)
    while kept and len(kept) + (rule.window - kept[-1]) < rule.count:
        kept.pop()
    return tuple(kept)


def _simulated(rules: tuple[Rule, ...], shift: float, spread: float, seed: int) -> Estimate:
    generator = np.random.default_rng(seed)
    overlap = max(rule.window for rule in rules)
    tail = np.empty((RUNS, 0))
    lengths: list[int] = []
    passed = 0
    while len(tail):
        drawn = shift + spread * generator.standard_normal((len(tail), BLOCK))
        row = np.concatenate([tail, drawn], axis=1)
        met = np.zeros(row.shape, dtype=bool)
        for rule in rules:
            for _, fits in sides(row, rule):
                met |= completed(fits, rule)
        # The overlap was judged in the block before, with the points that it needs.
        met = met[:, tail.shape[1] :]
        ended = met.any(axis=1)
        lengths += [passed + 1 + int(at) for at in met[ended].argmax(axis=1)]
        passed += BLOCK
        tail = row[~ended, -overlap:]
    sample = np.array(lengths, dtype=float)
    half = Z95 * float(sample.std(ddof=1)) / math.sqrt(RUNS)
    mean = float(sample.mean())
    return Estimate(mean, mean - half, mean + half, RUNS)
