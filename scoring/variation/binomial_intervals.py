"""Intervals of a binomial mixed model by profile likelihood, and whether a group differs at all.

A spread cannot be below 0 and its likelihood is skewed, so an interval of plus and minus
two standard errors is wrong where it matters most: near 0. The profile asks instead which
values the data still bear when all other parameters do their best.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import null_space  # type: ignore[import-untyped]
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.stats import chi2, norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, check_confidence
from scoring.variation.binomial import LARGEST_SD, BinomialFit, place_of
from scoring.variation.climbing import descend
from scoring.variation.laplace import Vector

LATENT_VARIANCE = np.pi**2 / 3.0
"""Variance of the standard logistic distribution: what one answer adds on the logit scale when
it is thought of as a threshold crossed. A mathematical fact."""

FURTHEST = 60.0
"""Standard errors from the estimate at which the search for an interval's end gives up: the
data then set none. An assumption."""

Path = Callable[[float, Vector], tuple[Vector, Vector]]
"""Parameters, and their derivative in the free ones, at a target value and free parameters."""


@dataclass(frozen=True, slots=True)
class DifferenceTest:
    """Whether the levels of a group differ more than chance makes them.

    Attributes
    ----------
    statistic : float
        Twice the difference of the log-likelihoods with and without the group, 0 or more.
    p_value : float
        From the even mixture of 0 and chi-square with one degree of freedom.
    n : int
        Levels of the group.
    """

    statistic: float
    p_value: float
    n: int


class Profile:
    """Twice the log-likelihood lost when one figure is held at a value.

    Parameters
    ----------
    fit : BinomialFit
    path : callable
        How the parameters follow from the figure and the free parameters.
    free : ndarray
        Free parameters at the maximum.
    """

    def __init__(self, fit: BinomialFit, path: Path, free: Vector) -> None:
        self.climbed = fit.problem.climbed
        self.likelihood = fit.problem.likelihood
        self.path = path
        self.free = free
        self.effects: Vector = self.climbed.effects

    def lost(self, target: float) -> float:
        """Return the deviance lost at `target`, 0 or more."""

        def evaluate(free: Vector, start: Vector | None) -> tuple[float, Vector, Vector]:
            theta, jacobian = self.path(target, free)
            value, slope, effects = self.likelihood.evaluate(theta, start)
            return value, jacobian.T @ slope, effects

        _, jacobian = self.path(target, self.free)
        hessian = jacobian.T @ self.climbed.hessian @ jacobian
        values, vectors = np.linalg.eigh(hessian) if hessian.size else (np.ones(0), hessian)
        floor = 1e-6 * float(np.abs(values).max(initial=1.0))
        positive = (vectors * np.maximum(np.abs(values), floor)) @ vectors.T
        # Every start is that of the maximum, so that an end does not depend on the way to it.
        _, value, self.effects, _ = descend(
            evaluate,
            self.free,
            positive,
            columns=len(self.free),
            effects=self.effects,
            curvature=False,
        )
        return max(0.0, 2.0 * (value - self.climbed.value))

    def ends(
        self, value: float, step: float, limits: tuple[float, float], confidence: float
    ) -> tuple[float | None, float | None]:
        """Return where the loss meets the chi-square quantile on each side.

        Parameters
        ----------
        value, step : float
            The figure at the maximum, and a guess of its standard error.
        limits : tuple of float
            Range of the figure: an end is at the limit where the data do not exclude it.
        confidence : float
        """
        wanted = float(norm.ppf(0.5 + confidence / 2.0))

        def gap(target: float) -> float:
            return float(np.sqrt(self.lost(target))) - wanted

        return self._end(gap, value, -step, limits[0]), self._end(gap, value, step, limits[1])

    def _end(
        self, gap: Callable[[float], float], value: float, step: float, limit: float
    ) -> float | None:
        inner, outer = value, value
        for reach in (2.0, 3.0, 5.0, 10.0, 20.0, FURTHEST):
            outer = value + reach * step
            outer = max(outer, limit) if step < 0 else min(outer, limit)
            if gap(outer) >= 0:
                tolerance = 1e-4 * abs(step)
                # At the estimate itself nothing is lost, so the sign there is known.
                return float(
                    brentq(lambda t: gap(t) if t != value else -1.0, inner, outer, xtol=tolerance)
                )
            if outer == limit:
                return limit
            inner = outer
        return None


def _linear(fit: BinomialFit, direction: Vector) -> tuple[Path, float, float]:
    """Return the path that holds ``direction @ theta``, its value and its standard error."""
    climbed = fit.problem.climbed
    columns = len(fit.names)
    wide = np.eye(len(climbed.theta))
    wide[:columns, :columns] = np.linalg.inv(fit.problem.back)
    covariance = wide @ fit.covariance @ wide.T
    image = covariance @ direction
    variance = float(direction @ image)
    value = float(direction @ climbed.theta)
    along = image / variance if variance > 0 else direction / float(direction @ direction)
    if variance <= 0:
        curvature = float(along @ climbed.hessian @ along)
        variance = 1.0 / max(curvature, 1.0)
    rest = null_space(direction[None, :])

    def path(target: float, free: Vector) -> tuple[Vector, Vector]:
        return climbed.theta + (target - value) * along + rest @ free, rest

    return path, value, float(np.sqrt(variance))


def sd_profile(fit: BinomialFit, group: str) -> tuple[Profile, float, float]:
    """Return the profile of a group's spread, its estimate and a guess of its standard error."""
    direction = np.zeros(len(fit.problem.climbed.theta))
    direction[len(fit.names) + place_of(group, fit.groups)] = 1.0
    path, value, step = _linear(fit, direction)
    return Profile(fit, path, np.zeros(len(direction) - 1)), value, step


def profile_sd(fit: BinomialFit, group: str, confidence: float = CONFIDENCE) -> Estimate:
    """Return the standard deviation of a group's effects with its profile interval.

    Parameters
    ----------
    fit : BinomialFit
    group : str
        Name of a grouping factor of the fit.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Estimate
        Logit scale; ``n`` is the number of levels. ``low`` is 0 where the data do not
        exclude it; ``high`` is None where they set no end.

    Notes
    -----
    Ends where twice the log-likelihood falls by the chi-square quantile with one degree of
    freedom, as ``confint(method = "profile")`` of lme4. At a true spread of 0 the
    interval covers more than it says (97.5 % for 95 %).
    """
    check_confidence(confidence)
    profile, value, step = sd_profile(fit, group)
    low, high = profile.ends(value, step, (0.0, 2.0 * LARGEST_SD), confidence)
    if high is not None and high >= 2.0 * LARGEST_SD:
        high = None
    return Estimate(value, low, high, len(fit.levels[group]), confidence)


def profile_coefficient(fit: BinomialFit, name: str, confidence: float = CONFIDENCE) -> Estimate:
    """Return a fixed effect (logit scale) with its profile-likelihood interval.

    Parameters
    ----------
    fit : BinomialFit
    name : str
        One of ``fit.names``.
    confidence : float
        Between 0 and 1, both excluded.
    """
    check_confidence(confidence)
    direction = np.zeros(len(fit.problem.climbed.theta))
    direction[: len(fit.names)] = fit.problem.back[place_of(name, fit.names)]
    path, value, step = _linear(fit, direction)
    profile = Profile(fit, path, np.zeros(len(direction) - 1))
    low, high = profile.ends(value, step, (-np.inf, np.inf), confidence)
    return Estimate(value, low, high, fit.answers, confidence)


def profile_share(
    fit: BinomialFit,
    group: str,
    *,
    residual: float = LATENT_VARIANCE,
    confidence: float = CONFIDENCE,
) -> Estimate:
    """Return a group's share of the variance on the logit scale, with its profile interval.

    Parameters
    ----------
    fit : BinomialFit
    group : str
        Name of a grouping factor of the fit.
    residual : float
        Variance of one answer that is added to the groups' variances: pi^2 / 3 for the latent
        intraclass correlation; 0 for the share among the groups alone.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Estimate
        0 to 1; ``n`` is the number of levels.

    Raises
    ------
    ValueError
        `residual` is 0 and no other group has any variance.
    """
    check_confidence(confidence)
    place = len(fit.names) + place_of(group, fit.groups)
    columns, theta = len(fit.names), fit.problem.climbed.theta
    others = float(np.sum(theta[columns:] ** 2) - theta[place] ** 2 + residual)
    if others <= 0:
        raise ValueError("residual 0: wanted another group with some variance")
    value = float(theta[place] ** 2 / (theta[place] ** 2 + others))
    kept = np.delete(np.arange(len(theta)), place)

    def path(target: float, free: Vector) -> tuple[Vector, Vector]:
        full = np.empty(len(theta))
        full[kept] = free
        ratio = target / (1.0 - target)
        full[place] = np.sqrt(ratio * (float(np.sum(free[columns:] ** 2)) + residual))
        jacobian = np.zeros((len(theta), len(free)))
        jacobian[kept, np.arange(len(free))] = 1.0
        if full[place] > 0:
            jacobian[place, columns:] = ratio * free[columns:] / full[place]
        return full, jacobian

    profile = Profile(fit, path, theta[kept])
    error = float(np.sqrt(fit.covariance[place, place]))
    step = max(0.02, 2.0 * theta[place] * error * (1.0 - value) / (theta[place] ** 2 + others))
    low, high = profile.ends(value, step, (0.0, 1.0 - 1e-6), confidence)
    return Estimate(value, low, high, len(fit.levels[group]), confidence)


def no_difference(fit: BinomialFit, group: str) -> DifferenceTest:
    """Test that the levels of a group do not differ: likelihood ratio against a spread of 0.

    Parameters
    ----------
    fit : BinomialFit
    group : str
        Name of a grouping factor of the fit.

    Notes
    -----
    A spread of 0 lies on the edge of what is possible, where the statistic is an even mixture
    of 0 and chi-square with one degree of freedom (Self SG, Liang KY (1987), J Am Stat Assoc
    82:605-610, from memory). With few answers a level the true level of the test is below
    the nominal one.
    """
    place_of(group, fit.groups)
    levels = len(fit.levels[group])
    if fit.sds[group] == 0:
        return DifferenceTest(0.0, 1.0, levels)
    profile, _, _ = sd_profile(fit, group)
    statistic = profile.lost(0.0)
    return DifferenceTest(statistic, float(0.5 * chi2.sf(statistic, 1)), levels)
