"""Where the abilities of a population are looked at: a rule of quadrature for a normal curve."""

from __future__ import annotations

import numpy as np
from numpy.polynomial.hermite import hermgauss
from numpy.typing import NDArray

Floats = NDArray[np.float64]

REACH = 7.0
"""Standard deviations covered on each side: beyond lie 2.6e-12 of a normal population."""

FINENESS = 0.8
"""Spacing, in standard deviations of the narrowest curve of one person's ability. The sum over
an even grid then errs by 2 exp(-2 pi^2 / 0.8^2), about 1e-13 of the integral (Poisson's
summation formula)."""

FEWEST = 61
"""Points of the even grid at least. A working judgement: more than a normal curve alone needs."""


def ability_grid(items: int, spread: float, points: int | None = None) -> tuple[Floats, Floats]:
    """Return nodes of a standard normal population, and the logarithms of their weights.

    Parameters
    ----------
    items : int
        Most items that one person met.
    spread : float
        Standard deviation of ability in logits (the common discrimination): with more items and
        more spread a person's curve is narrower, and the grid finer.
    points : int, optional
        Use Gauss-Hermite quadrature with this many points instead (as older programs
        do, often 21): exact only for short tests.
    """
    if points is not None:
        nodes, weights = hermgauss(points)
        kept = weights > 0
        return np.sqrt(2.0) * nodes[kept], np.log(weights[kept]) - 0.5 * np.log(np.pi)
    narrowest = 1.0 / np.sqrt(1.0 + items * spread**2 / 4.0)
    number = max(FEWEST, int(np.ceil(2.0 * REACH / (FINENESS * narrowest))) | 1)
    nodes = np.linspace(-REACH, REACH, number)
    log_weights = -0.5 * nodes**2
    return nodes, log_weights - np.log(np.exp(log_weights).sum())
