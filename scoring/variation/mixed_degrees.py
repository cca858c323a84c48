"""Degrees of freedom of fixed effects.

Satterthwaite FE (1946), Biometrics Bulletin 2:110-114, as used for mixed models: ``2 f^2 / (g' A
g)`` with f the variance of the effect, g its slope and A the covariance of the components,
twice the inverse of the deviance's curve; from memory. All by logarithms of the variances, and
without those at 0. In balanced designs with one error line it gives that line's own.
"""

from __future__ import annotations

import numpy as np

from scoring.variation.mixed_curvature import whole
from scoring.variation.mixed_likelihood import Likelihood, Numbers


def fixed_covariance(model: Likelihood, gamma: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return b, its covariance over the residual variance, and that one's slope by `gamma`."""
    sums, m = model.sums, model.m
    own = gamma[list(sums.order)]
    g, n = own[0], sums.counts
    shrink = 1 / (1 + g * n)
    by_level = 1 / (1 + g * sums.level_counts)
    matrix = sums.products - model.weighted(g * shrink, g * by_level)
    change = -model.weighted(shrink**2, by_level**2)
    d = np.ones(len(matrix))
    d[:m] = own[model.owner]
    full = matrix * d
    full[np.arange(m), np.arange(m)] += 1.0
    inverse = np.linalg.inv(full[:-1, :-1])
    edge, row = inverse[:, m:], inverse[m:]
    covariance: Numbers = np.asarray(row[:, m:], dtype=float)
    slope = np.empty((len(own), sums.p))
    slope[0] = -np.einsum("pi,ij,jp->p", row, change[:-1, :-1] * d[:-1], edge, optimize=True)
    by_level_of = (row @ matrix[:-1, :-1])[:, :m] * edge[:m].T
    for at in range(1, len(own)):
        slope[at] = -by_level_of[:, model.owner == at].sum(axis=1)
    found = np.empty_like(slope)
    found[list(sums.order)] = slope
    return row @ matrix[:-1, -1], covariance, found


def degrees_of_freedom(
    model: Likelihood, gamma: Numbers, residual: float, variance: Numbers, slope: Numbers
) -> Numbers:
    """Return the degrees of freedom of each fixed effect, at least 1 and at most the rows'.

    Parameters
    ----------
    model : Likelihood
        The likelihood.
    gamma : ndarray, shape (k,)
        Variances over the residual's.
    residual : float
        The residual's.
    variance, slope : ndarray, shape (p,) and (k, p)
        Variances of the effects over the residual's, and their slopes by `gamma`.
    """
    rest = float(model.sums.n - model.sums.p)
    zero = gamma == 0
    x = np.append(np.log(np.where(zero, 1.0, gamma)), np.log(residual))
    curve = whole(model, x[None], zero[None])[2][0]
    keep = np.flatnonzero(np.append(~zero, True))
    own, axes = np.linalg.eigh(curve[np.ix_(keep, keep)])
    if own[0] <= 1e-10 * own[-1]:
        return np.full(model.sums.p, min(rest, 1.0))
    by_logarithm = np.vstack([slope * gamma[:, None], variance])[keep]
    spread = 2 * ((axes.T @ by_logarithm) ** 2 / own[:, None]).sum(axis=0)
    found: Numbers = np.clip(2 * variance**2 / spread, 1.0, rest)
    return found
