"""What is known of each operator's logit once all parameters are uncertain, as a normal mixture.

Fixed effects and well known spreads add variance (the delta method). A spread that
few levels leave uncertain is averaged over instead: were it held at its estimate, which is
often 0 in a small department, everyone would seem alike and surely so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.special import logsumexp  # type: ignore[import-untyped]

from scoring.variation.binomial import LARGEST_SD, BinomialFit, place_of
from scoring.variation.climbing import descend, expected_hessian
from scoring.variation.laplace import CrossedLaplace, Vector

UNCERTAIN = 1.0 / 8.0
"""A spread whose standard error is more than this part of it is averaged over. Below,
the delta method is taken to serve: a working judgement."""

FIRST_STEP, GROWTH = 1.0, 1.25
"""Nodes stand this many standard errors apart, and further apart the further up. Halving
the step moved no interval end by more than 1.3 % of its width and no probability by more than
0.004 in two departments of 20 operators: a working judgement."""

LIGHTEST = 4.0
"""Nodes less likely than e to minus this, against the best, are left out. An assumption: what is
beyond them weighs a few hundredths at most."""


@dataclass(frozen=True, slots=True)
class LogitPosterior:
    """A mixture of normals for each operator.

    Attributes
    ----------
    weights : ndarray, shape (nodes,)
        Weights of the mixture, adding up to 1.
    means, sds : ndarray, shape (nodes, operators)
        Of each operator's logit.
    scatter : ndarray, shape (nodes,)
        Variance of all other groups together at each node, logit scale squared.
    own : ndarray, shape (operators,)
        Mean weight of own answers, 0 to 1.
    middle, middle_sds : ndarray, shape (nodes,)
        Mean and standard deviation of the logit in the middle of the population.
    """

    weights: Vector
    means: Vector
    sds: Vector
    scatter: Vector
    own: Vector
    middle: Vector
    middle_sds: Vector


def logit_posterior(fit: BinomialFit, group: str, row: Vector) -> LogitPosterior:
    """Return the posterior of ``row @ b + effect`` for every level of a group.

    Parameters
    ----------
    fit : BinomialFit
    group : str
    row : ndarray, shape (columns,)
        Values of the fixed columns.

    Notes
    -----
    Flat priors on fixed effects and standard deviations (Gelman A (2006), Bayesian Anal
    1:515-534, from memory); fixed effects integrated out by Laplace's method at each node.
    """
    problem, columns = fit.problem, len(fit.names)
    climbed, likelihood = problem.climbed, problem.likelihood
    laplace = likelihood if isinstance(likelihood, CrossedLaplace) else likelihood.laplace
    count = len(climbed.theta)
    errors = 1.0 / np.sqrt(np.maximum(np.diag(climbed.hessian), 1e-2))
    spreads = np.arange(columns, count)
    open_ = spreads[errors[spreads] > UNCERTAIN * climbed.theta[spreads]]
    kept = np.setdiff1d(np.arange(count), open_)
    place = columns + place_of(group, fit.groups)
    turned = row @ problem.back
    hessian = climbed.hessian[np.ix_(kept, kept)]
    lost: dict[tuple[float, ...], tuple[float, Vector, Vector, Vector]] = {}
    last: list[Vector] = [climbed.theta[kept], climbed.effects]

    def node(at: tuple[float, ...]) -> float:
        """Return the logarithm of the node's weight, and keep what was found there."""
        if at in lost:
            return lost[at][0]
        full = climbed.theta.copy()
        full[open_] = at

        def evaluate(free: Vector, start: Vector | None) -> tuple[float, Vector, Vector]:
            full[kept] = free
            value, slope, effects = laplace.evaluate(full.copy(), start)
            return value, slope[kept], effects

        guess = expected_hessian(laplace, laplace.mode(full.copy(), last[1]))[np.ix_(kept, kept)]
        sure = kept >= columns
        guess[np.ix_(sure, sure)] = hessian[np.ix_(sure, sure)]
        free, value, effects, _ = descend(
            evaluate, last[0], guess, columns=len(kept), effects=last[1], curvature=False
        )
        last[:] = free, effects
        full[kept] = free
        log_det = float(np.linalg.slogdet(guess)[1])
        lost[at] = (
            -value - 0.5 * log_det,
            full.copy(),
            effects,
            np.asarray(np.linalg.inv(guess), float),
        )
        return lost[at][0]

    axes = [_axis(node, climbed.theta[open_], errors[open_], k) for k in range(len(open_))]
    grid = list(product(*(axis for axis, _ in axes)))
    logs = np.array([node(at) for at in grid])
    width = np.array([np.prod(w) for w in product(*(w for _, w in axes))])
    logs = logs + np.log(width)
    kept_nodes = logs > logs.max() - LIGHTEST - 2.0
    weights = np.exp(logs - logsumexp(logs[kept_nodes]))[kept_nodes]
    means, sds, scatter, own, middle, middle_sds = [], [], [], [], [], []
    for at in (at for at, used in zip(grid, kept_nodes, strict=True) if used):
        _, theta, effects, covariance = lost[at]
        mode = laplace.mode(theta, effects)
        k = place - columns
        part = laplace.parts(mode.effects)[k]
        move = np.column_stack([laplace.parts(m)[k] for m in laplace.movement(mode).T])
        move = theta[place] * move
        move[:, place] += part
        move[:, :columns] += turned
        borrowed = laplace.variances(mode)[k]
        added = np.einsum("ij,jk,ik->i", move[:, kept], covariance, move[:, kept])
        means.append(turned @ theta[:columns] + theta[place] * part)
        sds.append(np.sqrt(theta[place] ** 2 * borrowed + added))
        scatter.append(float(np.sum(theta[columns:] ** 2) - theta[place] ** 2))
        own.append(1.0 - borrowed)
        middle.append(float(turned @ theta[:columns]))
        fixed = covariance[:columns, :columns]
        middle_sds.append(float(np.sqrt(turned @ fixed @ turned)))
    return LogitPosterior(
        weights,
        np.array(means),
        np.array(sds),
        np.array(scatter),
        weights @ np.array(own),
        np.array(middle),
        np.array(middle_sds),
    )


def _axis(
    node: Callable[[tuple[float, ...]], float], best: Vector, errors: Vector, k: int
) -> tuple[list[float], Vector]:
    """Return nodes of one spread, others at their estimates, and the width of each."""

    def at(value: float) -> float:
        point = best.copy()
        point[k] = value
        return float(node(tuple(map(float, point))))

    values = [float(best[k])]
    top = at(values[0])
    for sign in (-1.0, 1.0):
        step, value = FIRST_STEP * float(errors[k]), float(best[k])
        while 0.0 < value < LARGEST_SD or (value == 0.0 and sign > 0):
            value = float(np.clip(value + sign * step, 0.0, LARGEST_SD))
            found = at(value)
            values.append(value)
            top = max(top, found)
            if found < top - LIGHTEST:
                break
            step *= GROWTH if sign > 0 else 1.0
    nodes = np.array(sorted(set(values)))
    if len(nodes) == 1:
        return list(map(float, nodes)), np.ones(1)
    return list(map(float, nodes)), np.gradient(nodes) * np.where(
        (np.arange(len(nodes)) == 0) | (np.arange(len(nodes)) == len(nodes) - 1), 0.5, 1.0
    )
