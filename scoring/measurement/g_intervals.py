"""How far variance components may be from their estimates: plausible sets of them, and formulas."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import numpy as np
from scipy import stats  # type: ignore[import-untyped]

from scoring.measurement.g_cells import Codes, Floats, ScoreCells
from scoring.measurement.g_moments import MeanSquares, uncorrected

ComponentInterval = Literal["generalised", "satterthwaite", "ting"]

POINTS = 4096
"""Sets of plausible components of balanced data, placed evenly (Sobol), so that ends repeat
to about a percent of their distance. A working judgement, no source."""

RESAMPLES = 1000
"""The same for incomplete data, where each must be simulated. Common practice, no source."""

BLOCK = 4_000_000
"""Simulated scores held at once (32 MB). A working judgement, no source."""

LEAST_RATIO = 0.02
"""Smallest simulated over expected sum of squares that is divided by: in incomplete data such
a sum can come near nothing or below it. A working judgement, no source."""


def plausible_balanced(table: MeanSquares) -> tuple[Floats, Floats]:
    """Return plausible components of balanced data, and as many normal deviates.

    Each sum of squares over a chi-squared quantile is a plausible expected mean square:
    generalised confidence limits (Weerahandi 1993, from memory), under normal effects. For the
    relative coefficient of p x i they are Feldt's exact ones. Taken at evenly
    placed points, not at random.

    Returns
    -------
    components : ndarray, shape (points, effects)
        May be below 0.
    deviates : ndarray, shape (points,)
    """
    chances, deviates = _places(tuple(table.degrees.tolist()))
    return (table.sums / chances) @ table.from_squares.T, deviates


@lru_cache(maxsize=16)
def _places(degrees: tuple[float, ...]) -> tuple[Floats, Floats]:
    # Kept, as a page asks for many studies of one shape and the quantiles cost most.
    places = stats.qmc.Sobol(len(degrees) + 1, scramble=False).random(POINTS) + 0.5 / POINTS
    chances: Floats = stats.chi2.ppf(places[:, :-1], np.array(degrees))
    deviates: Floats = stats.norm.ppf(places[:, -1])
    chances.flags.writeable = deviates.flags.writeable = False
    return chances, deviates


def plausible_simulated(
    cells: ScoreCells,
    components: Floats,
    solve: Floats,
    seed: int | np.random.Generator,
) -> tuple[Floats, Floats]:
    """Return plausible components of incomplete data, and as many normal deviates.

    Scores with the estimated components are simulated on the cells that were scored; what the
    simulated sums of squares are to the expected ones is turned round onto those found.
    With balanced data this is `plausible_balanced`; here it is an approximation.

    Parameters
    ----------
    cells : ScoreCells
    components : ndarray, shape (effects,)
        At least 0.
    solve : ndarray, shape (effects, effects)
        Turns T into components.
    seed : int or Generator

    Returns
    -------
    components : ndarray, shape (resamples, effects)
    deviates : ndarray, shape (resamples,)
    """
    draw = np.random.default_rng(seed)
    effects = cells.design.effects
    corrected = np.eye(len(effects))
    for place, effect in enumerate(effects):
        for k in range(place):
            if effects[k] < effect:
                corrected[place] -= corrected[k]
    found = corrected @ uncorrected(cells, cells.scores)
    solve_corrected = solve @ np.linalg.inv(corrected)
    expected = np.linalg.solve(solve_corrected, components)
    expected = np.maximum(expected, np.finfo(float).tiny)
    held = []
    left = RESAMPLES
    while left:
        take = min(left, max(1, BLOCK // len(cells.scores)))
        scores = np.zeros((len(cells.scores), take))
        for effect, component in zip(effects, components, strict=True):
            levels = draw.standard_normal((cells.levels[effect], take))
            scores += np.sqrt(component) * levels[cells.codes[effect]]
        held.append(corrected @ uncorrected(cells, scores))
        left -= take
    ratio = np.maximum(np.concatenate(held, axis=1) / expected[:, None], LEAST_RATIO)
    plausible = solve_corrected @ (found[:, None] / ratio)
    return plausible.T, draw.standard_normal(RESAMPLES)


def quantiles(draws: Floats, confidence: float) -> tuple[float, float]:
    """Return the middle part of plausible values."""
    low, high = np.quantile(draws, [(1 - confidence) / 2, (1 + confidence) / 2])
    return float(low), float(high)


def satterthwaite(
    weights: Floats, squares: Floats, degrees: Floats, confidence: float
) -> tuple[float, float] | None:
    """Return Satterthwaite's interval of a weighted sum of mean squares; None if not above 0.

    Satterthwaite 1946, as in Brennan 2001, section 6.2 (from memory): far too short where
    mean squares are taken away and the component is small.
    """
    value = float(weights @ squares)
    if value <= 0:
        return None
    effective = value**2 / float((weights**2 * squares**2 / degrees).sum())
    low, high = stats.chi2.ppf([(1 + confidence) / 2, (1 - confidence) / 2], effective)
    return effective * value / float(low), effective * value / float(high)


def ting(
    weights: Floats, squares: Floats, degrees: Floats, confidence: float
) -> tuple[float, float]:
    """Return the modified large-sample interval of a sum and difference of mean squares.

    Ting, Burdick, Graybill, Jeyaratnam and Lu 1990, as in Brennan 2001, section 6.2; with only
    positive weights that of Graybill and Wang 1980 (from memory). Ends may be below 0.
    """
    tail = (1 - confidence) / 2
    value = float(weights @ squares)
    plus, minus = np.flatnonzero(weights > 0), np.flatnonzero(weights < 0)
    size = np.abs(weights) * squares
    below = _variance(plus, minus, size, degrees, tail)
    above = _variance(minus, plus, size, degrees, tail)
    return value - float(np.sqrt(max(below, 0.0))), value + float(np.sqrt(max(above, 0.0)))


def _variance(first: Codes, second: Codes, size: Floats, degrees: Floats, tail: float) -> float:
    # First are the mean squares that pull this end down when they are too large by chance.
    high = stats.chi2.ppf(1 - tail, degrees) / degrees
    low = stats.chi2.ppf(tail, degrees) / degrees
    shrink, stretch = 1 - 1 / high, 1 / low - 1
    total = float((shrink[first] ** 2 * size[first] ** 2).sum())
    total += float((stretch[second] ** 2 * size[second] ** 2).sum())
    for q in first:
        for r in second:
            ratio = float(stats.f.ppf(1 - tail, degrees[q], degrees[r]))
            cross = (ratio - 1) ** 2 - shrink[q] ** 2 * ratio**2 - stretch[r] ** 2
            total += float(cross / ratio * size[q] * size[r])
    for place, q in enumerate(first):
        for t in first[place + 1 :]:
            both = degrees[q] + degrees[t]
            joint = 1 - both / float(stats.chi2.ppf(1 - tail, both))
            cross = (
                joint**2 * both**2 / (degrees[q] * degrees[t])
                - shrink[q] ** 2 * degrees[q] / degrees[t]
                - shrink[t] ** 2 * degrees[t] / degrees[q]
            )
            total += float(cross / (len(first) - 1) * size[q] * size[t])
    return total
