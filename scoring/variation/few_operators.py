"""Rates of a handful of operators by exact integration over what is unknown.

With few operators the spread between them is hardly known, and any method that settles
on one value of it is too sure. Here the population's mean and spread are
integrated over on a grid under stated priors, and each operator by quadrature: no sampling,
the same answer every time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.polynomial.hermite import hermgauss
from scipy.special import expit, logsumexp  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.binomial_cells import count_rows
from scoring.variation.laplace import Vector

SD_SCALE = 1.0
"""Scale of the half-normal prior of the spread between operators, logit scale: one standard
deviation of 1 is already a median odds ratio of 2.6, and 2 one of 6.6. A working judgement."""

MOST_OPERATORS = 300
"""Each operator costs 1.4 MB of grid, so that these take 0.4 GB; with so many the fitted model is
as good. A working judgement."""

MEAN_SD = 1000.0
"""Standard deviation of the normal prior of the mean logit: flat for all purposes, as the
published example has it (precision 1e-6)."""

LOG_SD_RANGE = (-6.0, 3.0)
"""Range of the logarithm of the spread that is integrated over: 0.0025 to 20 on the logit scale.
An assumption; what lies beyond weighs nothing under the priors offered."""

SD_NODES, MEAN_NODES, OWN_NODES = 141, 61, 21
"""Nodes of the grid and of each operator's quadrature: doubling each changed no figure of the
published example in the sixth digit."""


@dataclass(frozen=True, slots=True)
class FewOperators:
    """Posterior of a small department.

    Attributes
    ----------
    operators : tuple of str
        Codes in the order given.
    rates : tuple of Estimate
        Posterior mean of each operator's rate with its interval (equal tails), 0 to 1; ``n`` is
        the number of answers.
    mean_logit, sd : Estimate
        Mean and standard deviation of the population on the logit scale.
    mean_rate : Estimate
        Rate of an operator in the middle of the population, 0 to 1.
    exceeds : tuple of float or None
        Probability that each operator's rate is above the limit; None without a limit.
    """

    operators: tuple[str, ...]
    rates: tuple[Estimate, ...]
    mean_logit: Estimate
    sd: Estimate
    mean_rate: Estimate
    exceeds: tuple[float, ...] | None


def few_operators(
    events: npt.ArrayLike,
    trials: npt.ArrayLike,
    operators: Sequence[str] | None = None,
    *,
    limit: float | None = None,
    sd_scale: float = SD_SCALE,
    precision_prior: tuple[float, float] | None = None,
    mean_prior: tuple[float, float] = (0.0, MEAN_SD),
    confidence: float = CONFIDENCE,
) -> FewOperators | TooLittleEvidence:
    """Return the posterior of operators' rates, ``logit p[j] ~ Normal(mean, sd)``.

    Parameters
    ----------
    events, trials : array_like, shape (operators,)
        Events (failures, say) and answers of each operator.
    operators : sequence of str, optional
        Codes; 1, 2, ... if left out.
    limit : float, optional
        Rate between 0 and 1 that should not be exceeded.
    sd_scale : float
        Scale of a half-normal prior of the standard deviation, logit scale, above 0.
    precision_prior : tuple of float, optional
        Shape and rate of a gamma prior of ``1 / sd^2`` instead, as older examples have it.
    mean_prior : tuple of float
        Mean and standard deviation of the normal prior of the mean logit.
    confidence : float
        Of the intervals, between 0 and 1, both excluded.

    Returns
    -------
    FewOperators or TooLittleEvidence
        ``missing`` is ``answers`` or ``operators`` (fewer than two).

    Raises
    ------
    DataError
        Counts that are no counts, codes doubled, lengths that differ.
    ValueError
        A parameter outside its range, or more than 300 operators.

    Notes
    -----
    Trapezoid rule over mean and logarithm of the spread, adaptive Gauss-Hermite for each
    operator. All operators with no event are ordinary data: the priors keep the figures finite,
    and then settle much of them.
    """
    check_confidence(confidence)
    if limit is not None and not 0 < limit < 1:
        raise ValueError(f"limit {limit!r}: wanted a rate between 0 and 1")
    if not sd_scale > 0 or not mean_prior[1] > 0 or min(precision_prior or (1.0,)) <= 0:
        raise ValueError("sd_scale, mean_prior and precision_prior: wanted scales above 0")
    y, m = count_rows(events, trials)
    if len(y) > MOST_OPERATORS:
        raise ValueError(f"wanted at most {MOST_OPERATORS} operators; adjusted_rates takes more")
    codes = tuple(map(str, range(1, len(y) + 1) if operators is None else operators))
    if len(codes) != len(y):
        raise DataError("operators", len(codes), f"as many as events, {len(y)}")
    if len(set(codes)) != len(codes):
        raise DataError("operators", codes, "each code once")
    if not m.sum():
        return TooLittleEvidence("answers", "There are no answers yet.", 0)
    if (m > 0).sum() < 2:
        return TooLittleEvidence("operators", "Only 1 operator; at least 2 are needed.", 1)
    y = np.where(m > 0, y, 0.0)
    return _posterior(
        y, m, codes, limit, _log_prior(sd_scale, precision_prior), mean_prior, confidence
    )


def _log_prior(sd_scale: float, precision_prior: tuple[float, float] | None) -> Vector:
    """Return the logarithm of the prior density of the log spread at the nodes."""
    log_sd = np.linspace(*LOG_SD_RANGE, SD_NODES)
    if precision_prior is None:
        return np.asarray(log_sd - 0.5 * (np.exp(log_sd) / sd_scale) ** 2)
    shape, rate = precision_prior
    return np.asarray(-2.0 * shape * log_sd - rate * np.exp(-2.0 * log_sd))


def _posterior(
    y: Vector,
    m: Vector,
    codes: tuple[str, ...],
    limit: float | None,
    log_prior: Vector,
    mean_prior: tuple[float, float],
    confidence: float,
) -> FewOperators:
    log_sd = np.linspace(*LOG_SD_RANGE, SD_NODES)
    sd = np.exp(log_sd)
    # Where the mean lies, roughly, at each spread: the grid is laid eight errors about it.
    pooled = (y.sum() + 0.5) / (m.sum() + 1.0)
    information = 1.0 / (m.sum() * pooled * (1.0 - pooled)) + sd**2 / max(1, (m > 0).sum())
    centre = float(np.log(pooled / (1.0 - pooled)))
    offsets = np.linspace(-10.0, 10.0, MEAN_NODES)
    mean = centre + offsets * np.sqrt(information)[:, None]  # (sd, mean)
    mu, sigma = mean[..., None], sd[:, None, None]
    eta = np.broadcast_to(mu, (*mean.shape, len(y))).copy()
    for _ in range(60):
        p = expit(eta)
        slope = y - m * p - (eta - mu) / sigma**2
        weight = m * p * (1.0 - p) + 1.0 / sigma**2
        step = np.clip(slope / weight, -2.0, 2.0)
        eta += step
        if np.abs(step).max() < 1e-9:
            break
    scale = 1.0 / np.sqrt(m * expit(eta) * expit(-eta) + 1.0 / sigma**2)
    x, w = hermgauss(OWN_NODES)
    nodes = eta[..., None] + np.sqrt(2.0) * scale[..., None] * x
    logs = (
        y[:, None] * nodes
        - m[:, None] * np.logaddexp(0.0, nodes)
        - 0.5 * ((nodes - mu[..., None]) / sigma[..., None]) ** 2
        - np.log(sigma[..., None])
        + np.log(scale)[..., None]
        + np.log(w)
        + x**2
    )
    each = logsumexp(logs, axis=-1)
    grid = (
        each.sum(axis=-1)
        + log_prior[:, None]
        - 0.5 * ((mean - mean_prior[0]) / mean_prior[1]) ** 2
        + 0.5 * np.log(information)[:, None]
    )
    weights = np.exp(grid - logsumexp(grid))
    own = weights[..., None, None] * np.exp(logs - each[..., None])
    rates = [
        _estimate(expit(nodes[..., j, :]), own[..., j, :], int(m[j]), confidence)
        for j in range(len(y))
    ]
    exceeds = None
    if limit is not None:
        edge = np.log(limit / (1.0 - limit))
        # A normal with the mean and spread that quadrature found, at each node of the grid.
        share = np.exp(logs - each[..., None])
        middle = (share * nodes).sum(axis=-1)
        width = np.sqrt((share * (nodes - middle[..., None]) ** 2).sum(axis=-1))
        above = norm.sf((edge - middle) / width)
        exceeds = tuple(float(v) for v in np.einsum("sm,smj->j", weights, above))
    people = int((m > 0).sum())
    return FewOperators(
        operators=codes,
        rates=tuple(rates),
        mean_logit=_estimate(mean, weights, people, confidence),
        sd=_estimate(np.broadcast_to(sd[:, None], mean.shape), weights, people, confidence),
        mean_rate=_estimate(expit(mean), weights, people, confidence),
        exceeds=exceeds,
    )


def _estimate(values: Vector, weights: Vector, n: int, confidence: float) -> Estimate:
    """Return mean and equal-tailed interval of a weighted grid."""
    order = np.argsort(values, axis=None)
    sorted_values, summed = values.ravel()[order], np.cumsum(weights.ravel()[order])
    middle = summed - weights.ravel()[order] / 2.0
    tail = (1.0 - confidence) / 2.0
    low, high = np.interp([tail, 1.0 - tail], middle, sorted_values)
    return Estimate(float(values.ravel() @ weights.ravel()), float(low), float(high), n, confidence)
