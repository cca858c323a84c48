"""Maximise a mixed model's likelihood in fixed effects and standard deviations together.

A quasi-Newton search (the BFGS update, Nocedal J, Wright SJ, Numerical Optimization, 2nd ed.,
ch. 6, from memory) from a start by moments, then Newton steps with the Hessian by differences
of the gradient. The likelihood is even in each standard deviation, so no bound is needed: a
spread of 0 is a stationary point like any other.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from scoring.variation.laplace import Cells, CrossedLaplace, Mode, Vector

Evaluate = Callable[[Vector, Vector | None], tuple[float, Vector, Vector]]
"""Value, gradient and modes at given parameters; the modes of a neighbour may be handed in."""

NEAR = 1e-5
"""Newton decrement at which the search hands over to Newton: the point is then within 0.3 % of
a standard error of the maximum, where the Hessian no longer changes. An assumption."""

THERE = 1e-9
"""Newton decrement at which the maximum is taken as found: 0.003 % of a standard error."""

NOT_THERE = 1e-3
"""Newton decrement above which the search has failed and no figure is given: 3 % of a standard
error. An assumption."""

MOST_STEPS = 150
"""A safeguard; tried data took 4 to 25 steps. An assumption."""

LONGEST_STEP = 1.0
"""Most that a standard deviation (logit scale) moves in one step: the first guess of the
curvature may be poor where the likelihood is flat. An assumption."""

DIFFERENCE = 0.02
"""Step of the differences for the Hessian, in standard errors: errors of the fourth order and
of rounding are then both below 1e-4 of the curvature. An assumption, checked in the tests."""

ZERO_SD = 1e-4
"""A standard deviation below this is 0: on the logit scale it moves no probability by more than
0.0025 percentage points. An assumption."""

START_SD = (0.1, 3.0)
"""Range of the starting values of a standard deviation, inside which the search never starts
flat. An assumption; the maximum does not depend on it."""


class Likelihood(Protocol):
    """What can be climbed."""

    cells: Cells

    def evaluate(self, theta: Vector, start: Vector | None = None) -> tuple[float, Vector, Vector]:
        """Return minus the log-likelihood, its gradient, and the modes."""


@dataclass(frozen=True, slots=True)
class Climbed:
    """A maximum.

    Attributes
    ----------
    theta : ndarray
        Fixed effects and standard deviations (not negative).
    value : float
        Minus the log-likelihood there, without constants.
    effects : ndarray
        Standardised modes.
    hessian : ndarray
        Of `value` in `theta`.
    covariance : ndarray or None
        Inverse Hessian, with zeros for standard deviations of 0; None where the Hessian is
        not positive or the slope not nothing: no proper maximum was found.
    runaway : int or None
        The factor whose standard deviation grows without end.
    """

    theta: Vector
    value: float
    effects: Vector
    hessian: Vector
    covariance: Vector | None
    runaway: int | None = None


def climb(likelihood: Likelihood, largest_sd: float) -> Climbed:
    """Find the maximum from a start by moments.

    Parameters
    ----------
    likelihood : Likelihood
    largest_sd : float
        Where the search stops and says that a standard deviation has run away.
    """
    cells = likelihood.cells
    columns = cells.design.shape[1]
    theta = moments(cells)
    laplace = likelihood if isinstance(likelihood, CrossedLaplace) else CrossedLaplace(cells)
    start = laplace.mode(theta)
    hessian = expected_hessian(laplace, start)
    theta, value, effects, hessian = descend(
        likelihood.evaluate,
        theta,
        hessian,
        columns=columns,
        largest_sd=largest_sd,
        effects=start.effects,
    )
    over = np.flatnonzero(np.abs(theta[columns:]) > largest_sd)
    if over.size:
        return Climbed(theta, value, effects, hessian, None, int(over[0]))
    signs = np.concatenate([np.ones(columns), np.where(theta[columns:] < 0, -1.0, 1.0)])
    theta = theta * signs
    hessian = hessian * np.outer(signs, signs)
    theta[columns:][theta[columns:] < ZERO_SD] = 0.0
    # A spread that changed its sign turned its effects round: they are what they were times it.
    turned = np.repeat(
        signs[columns:][list(laplace.order)], np.array(cells.sizes)[[*laplace.order]]
    )
    value, slope, effects = likelihood.evaluate(theta, effects * turned)
    covariance = inverse(hessian, theta, columns)
    if covariance is not None and float(slope @ covariance @ slope) > NOT_THERE:
        covariance = None
    return Climbed(theta, value, effects, hessian, covariance)


def inverse(hessian: Vector, theta: Vector, columns: int) -> Vector | None:
    """Return the inverse over what is not a spread of 0; None if it is not positive."""
    kept = np.flatnonzero((np.arange(len(theta)) < columns) | (theta > 0))
    part = hessian[np.ix_(kept, kept)]
    if np.linalg.eigvalsh(part).min() <= 0:
        return None
    out = np.zeros_like(hessian)
    out[np.ix_(kept, kept)] = np.linalg.inv(part)
    return out


def descend(
    evaluate: Evaluate,
    theta: Vector,
    hessian: Vector,
    *,
    columns: int,
    largest_sd: float = np.inf,
    effects: Vector | None = None,
    curvature: bool = True,
) -> tuple[Vector, float, Vector, Vector]:
    """Minimise from `theta`, the first `columns` of which are unbounded effects.

    Parameters
    ----------
    evaluate : callable
        Value, gradient and modes at given parameters.
    theta, hessian : ndarray
        Start, and a positive definite guess of the Hessian there.
    columns : int
        Entries after the first `columns` are standard deviations.
    largest_sd : float
        Stop once a standard deviation is beyond it.
    effects : ndarray, optional
        Modes to start from.
    curvature : bool
        Whether to end with the Hessian by differences and Newton's method; without it the
        value is within `NEAR` of the minimum.

    Returns
    -------
    theta, value, effects, hessian
    """
    value, slope, effects = evaluate(theta, effects)
    fresh = False
    for _ in range(MOST_STEPS):
        step: Vector = np.asarray(np.linalg.solve(hessian, slope), dtype=float)
        decrement = float(slope @ step)
        if decrement < (THERE if fresh else NEAR):
            if fresh or not curvature:
                break
            hessian = _positive(differences(evaluate, theta, hessian, effects))
            fresh = True
            continue
        if not fresh and columns < len(theta):
            step = step / max(1.0, float(np.abs(step[columns:]).max()) / LONGEST_STEP)
        moved = _line(evaluate, theta, value, step, float(slope @ step), effects)
        if moved is None:
            # No step makes it smaller: rounding, if the Hessian is exact; else a poor guess.
            if fresh or not curvature:
                break
            hessian = _positive(differences(evaluate, theta, hessian, effects))
            fresh = True
            continue
        new_theta, value, new_slope, effects = moved
        far = fresh and decrement > NEAR
        if not fresh or far:
            hessian = _updated(hessian, new_theta - theta, new_slope - slope)
            fresh = False
        theta, slope = new_theta, new_slope
        if np.abs(theta[columns:]).max(initial=0.0) > largest_sd:
            break
    return theta, value, effects, hessian


def _line(
    evaluate: Evaluate,
    theta: Vector,
    value: float,
    step: Vector,
    fall: float,
    effects: Vector,
) -> tuple[Vector, float, Vector, Vector] | None:
    """Shorten a step until the value falls enough (Armijo); None if no length does."""
    share = 1.0
    rounding = 1e-13 * max(1.0, abs(value))
    while share > 1e-6:
        new_theta = theta - share * step
        new_value, slope, modes = evaluate(new_theta, effects)
        if new_value <= value - 1e-4 * share * fall + rounding:
            return new_theta, new_value, slope, modes
        # The parabola through what is known says how far, within bounds.
        bend = (new_value - value) / share + fall
        share *= float(np.clip(fall * share / (2.0 * bend * share), 0.1, 0.5))
    return None


def _updated(hessian: Vector, step: Vector, change: Vector) -> Vector:
    """Return the damped BFGS update (Powell), which stays positive definite."""
    image = hessian @ step
    bend = float(step @ image)
    if bend <= 0:
        return hessian
    along = float(step @ change)
    if along < 0.1 * bend:
        mix = 0.9 * bend / (bend - along)
        change = mix * change + (1.0 - mix) * image
        along = float(step @ change)
    out: Vector = hessian - np.outer(image, image) / bend + np.outer(change, change) / along
    return out


def differences(evaluate: Evaluate, theta: Vector, scale: Vector, effects: Vector) -> Vector:
    """Return the Hessian by central differences of the gradient.

    Parameters
    ----------
    evaluate : callable
        Value, gradient and modes at given parameters.
    theta : ndarray
        Where.
    scale : ndarray
        A guess of the Hessian, for the size of the steps.
    effects : ndarray
        Modes at `theta`.
    """
    out = np.empty_like(scale)
    for k in range(len(theta)):
        step = np.zeros_like(theta)
        step[k] = min(0.05, DIFFERENCE / np.sqrt(max(scale[k, k], 1e-8)))
        _, up, above = evaluate(theta + step, effects)
        # To first order the modes move as far the other way.
        _, down, _ = evaluate(theta - step, 2.0 * effects - above)
        out[k] = (up - down) / (2.0 * step[k])
    return (out + out.T) / 2.0


def _positive(hessian: Vector) -> Vector:
    """Return the matrix with its eigenvalues made positive, where some are not."""
    values, vectors = np.linalg.eigh(hessian)
    if values[0] > 1e-10 * values[-1]:
        return hessian
    lifted = np.maximum(np.abs(values), 1e-6 * max(1e-6, float(np.abs(values).max())))
    out: Vector = (vectors * lifted) @ vectors.T
    return out


def moments(cells: Cells) -> Vector:
    """Return a start: fixed effects without random ones, spreads from the sums left over."""
    y, m, design = cells.successes, cells.trials, cells.design
    b = np.linalg.lstsq(design, np.log((y + 0.5) / (m - y + 0.5)), rcond=None)[0]
    for _ in range(25):
        p = 1.0 / (1.0 + np.exp(-np.clip(design @ b, -30.0, 30.0)))
        weight = m * p * (1.0 - p)
        step = np.linalg.solve(design.T @ (weight[:, None] * design), design.T @ (y - m * p))
        b = b + step / max(1.0, float(np.abs(step).max()))
        if np.abs(step).max() < 1e-4:
            break
    left = y - m * p
    sds = []
    for index, size in zip(cells.index, cells.sizes, strict=True):
        sums, weights = np.bincount(index, left, size), np.bincount(index, weight, size)
        variance = (sums @ sums - weights.sum()) / (weights @ weights)
        sds.append(np.sqrt(np.clip(variance, START_SD[0] ** 2, START_SD[1] ** 2)))
    # A marginal effect is smaller than the conditional one by about this (16 sqrt 3 / 15 pi)^2:
    # Zeger SL, Liang KY, Albert PS (1988), Biometrics 44:1049-1060, from memory.
    grown = np.sqrt(1.0 + 0.346 * float(np.square(sds).sum()))
    return np.concatenate([b * grown, sds])


def expected_hessian(laplace: CrossedLaplace, at: Mode) -> Vector:
    """Return a cheap guess of the Hessian: fixed effects exactly, spreads by their information.

    A standard deviation estimated from ``n`` effects, each known with reliability ``r``, has the
    information ``2 sum(r^2) / sd^2``, as in the normal model.
    """
    cells, theta = laplace.cells, at.theta
    columns = cells.design.shape[1]
    out = np.zeros((len(theta), len(theta)))
    _, sds = laplace.split(theta)
    weighted = at.weight[:, None] * cells.design
    random = np.column_stack([laplace.gather(column, sds) for column in weighted.T])
    moved = laplace.solve(at.diagonal, at.cross, at.factor, random)
    out[:columns, :columns] = cells.design.T @ weighted - random.T @ moved
    for k, variances in enumerate(laplace.variances(at)):
        place = columns + k
        reliability = 1.0 - variances
        squared = max(float(theta[place]) ** 2, ZERO_SD**2)
        out[place, place] = max(2.0 * float(reliability @ reliability) / squared, 1e-3)
    return out
