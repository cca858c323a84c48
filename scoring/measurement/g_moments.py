"""Moment estimates of the variance components of a design: balanced in closed form, else Henderson.

Both work on uncorrected sums of squares T: for each effect the sum over its levels of
size times squared mean.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scoring.measurement.g_cells import Floats, ScoreCells

SINGULAR = 1e-9
"""Smallest over largest singular value of scaled equations below which components
cannot be told apart. A working judgement: far above rounding, far below real designs."""


@dataclass(frozen=True, slots=True)
class MeanSquares:
    """The table of a balanced analysis, in the order of the design's effects.

    Attributes
    ----------
    sums, squares, degrees : ndarray, shape (effects,)
        Sums of squares, mean squares, degrees of freedom.
    from_squares : ndarray, shape (effects, effects)
        Rows of weights that turn mean squares into components.
    """

    sums: Floats
    squares: Floats
    degrees: Floats
    from_squares: Floats


def uncorrected(cells: ScoreCells, scores: Floats) -> Floats:
    """Return T of every effect, of scores from which the grand mean is taken.

    Parameters
    ----------
    cells : ScoreCells
    scores : ndarray, shape (n,) or (n, replicates)

    Returns
    -------
    ndarray, shape (effects,) or (effects, replicates)
    """
    centred = scores - scores.mean(axis=0)
    found = []
    for effect in cells.design.effects:
        code, levels = cells.codes[effect], cells.levels[effect]
        sums = np.zeros((levels, *centred.shape[1:]))
        np.add.at(sums, code, centred)
        sizes = np.bincount(code, minlength=levels).reshape((-1,) + (1,) * (centred.ndim - 1))
        found.append((sums**2 / sizes).sum(axis=0))
    return np.array(found)


def expected_weights(cells: ScoreCells) -> Floats:
    """Return E[T of centred scores] as weights of the components, exactly.

    Row a, column b: the sum over levels of a of the squared sizes of its parts by b, each
    over the size of the level, less the same for the grand mean (Henderson 1953, method 1;
    Brennan 2001, chapter 7; from memory).
    """
    effects = cells.design.effects
    n = len(cells.scores)
    weights = np.empty((len(effects), len(effects)))
    for column, other in enumerate(effects):
        levels = cells.levels[other]
        mean = float((np.bincount(cells.codes[other]).astype(float) ** 2).sum()) / n
        for row, effect in enumerate(effects):
            joint = cells.codes[effect] * levels + cells.codes[other]
            pairs, counts = np.unique(joint, return_counts=True)
            sizes = np.bincount(cells.codes[effect])
            weights[row, column] = (counts.astype(float) ** 2 / sizes[pairs // levels]).sum() - mean
    return weights


def henderson_weights(cells: ScoreCells) -> Floats | None:
    """Return what turns T into components, or None where the data cannot tell them apart."""
    expected = expected_weights(cells)
    scale = np.abs(expected).max(axis=1)
    if (scale <= 0).any():
        return None
    scaled = expected / scale[:, None]
    singular = np.linalg.svd(scaled, compute_uv=False)
    if singular[-1] < SINGULAR * singular[0]:
        return None
    inverse: Floats = np.linalg.inv(scaled) / scale[None, :]
    return inverse


def mean_squares(cells: ScoreCells) -> MeanSquares:
    """Return the analysis of variance of balanced data with its expected mean squares solved.

    The expected mean square of an effect is the sum, over effects that hold all of its
    facets, of the component times the scores in a level of that effect.
    """
    effects = cells.design.effects
    n = len(cells.scores)
    found = uncorrected(cells, cells.scores)
    sums, degrees = np.empty(len(effects)), np.empty(len(effects))
    for place, effect in enumerate(effects):
        below = [k for k in range(place) if effects[k] < effect]
        sums[place] = max(found[place] - sums[below].sum(), 0.0)
        degrees[place] = cells.levels[effect] - 1 - degrees[below].sum()
    expected = np.array(
        [[n / cells.levels[b] if b >= a else 0.0 for b in effects] for a in effects]
    )
    return MeanSquares(sums, sums / degrees, degrees, np.linalg.inv(expected))


def mean_weights(cells: ScoreCells) -> Floats:
    """Return the variance of the grand mean as weights of the components, shape (effects,)."""
    n = len(cells.scores)
    return np.array(
        [
            float((np.bincount(cells.codes[effect]).astype(float) ** 2).sum()) / n**2
            for effect in cells.design.effects
        ]
    )
