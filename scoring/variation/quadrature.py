"""The likelihood of counts with one grouping factor by adaptive Gauss-Hermite quadrature.

With one factor the likelihood is a product of one-dimensional integrals. Each is
taken with nodes placed at the mode and scaled by the curvature there (Pinheiro JC, Bates DM
(1995), J Comput Graph Stat 4:12-35, from memory), so few nodes are many digits.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.hermite import hermgauss
from scipy.special import logsumexp  # type: ignore[import-untyped]

from scoring.variation.laplace import Cells, CrossedLaplace, Vector

GRADIENT_STEP = 1e-4
"""Step of the central differences. Truncation and rounding are then both near 1e-8 of the
log-likelihood, far below what an estimate is read to: an assumption."""


class SingleQuadrature:
    """Quadrature log-likelihood of one set of cells with one factor.

    Parameters
    ----------
    cells : Cells
        With exactly one factor.
    points : int
        Nodes.
    """

    def __init__(self, cells: Cells, points: int) -> None:
        self.laplace = CrossedLaplace(cells)
        self.cells = cells
        nodes, weights = hermgauss(points)
        self.nodes = np.sqrt(2.0) * nodes
        self.log_weights = np.log(weights) + nodes**2 + 0.5 * np.log(2.0)

    def value(self, theta: Vector, start: Vector | None = None) -> tuple[float, Vector]:
        """Return minus the log-likelihood (without binomial constants), and the modes."""
        cells, laplace = self.cells, self.laplace
        at = laplace.mode(theta, start)
        b, sds = laplace.split(theta)
        u = at.effects[:, None] + self.nodes / np.sqrt(at.diagonal)[:, None]
        eta = (cells.design @ b)[:, None] + sds[0] * u[laplace.first]
        answers = cells.successes[:, None] * eta - cells.trials[:, None] * np.logaddexp(0.0, eta)
        summed = np.zeros((laplace.n_first, len(self.nodes)))
        np.add.at(summed, laplace.first, answers)
        prior = -0.5 * u**2 - 0.5 * np.log(2.0 * np.pi)
        each = logsumexp(summed + prior + self.log_weights, axis=1) - 0.5 * np.log(at.diagonal)
        return -float(each.sum()), at.effects

    def evaluate(self, theta: Vector, start: Vector | None = None) -> tuple[float, Vector, Vector]:
        """Return value, gradient (central differences) and modes."""
        value, modes = self.value(theta, start)
        slope = np.empty_like(theta)
        for k in range(len(theta)):
            step = np.zeros_like(theta)
            step[k] = GRADIENT_STEP
            up, down = self.value(theta + step, modes)[0], self.value(theta - step, modes)[0]
            slope[k] = (up - down) / (2.0 * GRADIENT_STEP)
        return value, slope, modes
