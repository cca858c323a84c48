"""How much operators differ, in figures that a reader can hold against something.

A variance on the logit scale says nothing to anyone. The median odds ratio, the latent
correlation, the share of what is seen, and the rates of a good and of a poor operator say the
same on scales that can be compared.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, check_confidence
from scoring.variation.adjusted_rates import averaged, row_at
from scoring.variation.binomial import BinomialFit
from scoring.variation.binomial_intervals import (
    LATENT_VARIANCE,
    DifferenceTest,
    no_difference,
    profile_sd,
    profile_share,
)
from scoring.variation.laplace import Vector

INTERVAL_COVERAGE = 0.8
"""Part of all pairs of operators that the interval odds ratio spans: 80 %, as Larsen and Merlo
(2005) use it; from memory."""

PERCENTILES = (10.0, 90.0)
"""Operators whose rates are told as an ordinary good and an ordinary poor one: of ten, the
second best and the second worst, roughly. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Heterogeneity:
    """How much the levels of one group differ.

    Attributes
    ----------
    group : str
    sd : Estimate
        Standard deviation of the effects, logit scale, profile interval.
    median_odds_ratio : Estimate
        1 or more: in the median pair of operators, how many times the odds of the one are those
        of the other.
    latent_correlation : Estimate
        Share of the group in all latent variance, pi^2 / 3 for one answer included, 0 to 1.
    share_of_groups : Estimate or None
        Share of the group in the variance between all groups of the fit, 0 to 1; None for a
        single group, or where no other differs.
    observed_share : Estimate
        Share of the variance of a single answer (0 or 1), 0 to 1.
    share_of_rates : Estimate
        Share of the variance of true rates over operators and scenarios, 0 to 1.
    difference : DifferenceTest
        Test that the levels do not differ at all.
    """

    group: str
    sd: Estimate
    median_odds_ratio: Estimate
    latent_correlation: Estimate
    share_of_groups: Estimate | None
    observed_share: Estimate
    share_of_rates: Estimate
    difference: DifferenceTest


@dataclass(frozen=True, slots=True)
class PopulationRange:
    """Rates of two operators of the fitted population.

    Attributes
    ----------
    percentiles : tuple of float
        Which operators, by rising rate, 0 to 100.
    lower, upper : Estimate
        Their rates, 0 to 1.
    difference : float
        Upper less lower, 0 to 1.
    """

    percentiles: tuple[float, float]
    lower: Estimate
    upper: Estimate
    difference: float


def median_odds_ratio(variance: float) -> float:
    """Return the median odds ratio of a variance on the logit scale.

    Parameters
    ----------
    variance : float
        0 or more.

    Notes
    -----
    ``exp(sqrt(2 variance) * 0.674490)``: Larsen K, Merlo J (2005), Am J Epidemiol 161:81-88.
    """
    _not_negative(variance=variance)
    return float(np.exp(np.sqrt(2.0 * variance) * norm.ppf(0.75)))


def latent_correlation(variance: float, others: float = 0.0) -> float:
    """Return the intraclass correlation on the latent (logit) scale.

    Parameters
    ----------
    variance : float
        Variance of the group's effects, 0 or more.
    others : float
        Variance of all other groups together; 0 compares answers to the same scenario.

    Notes
    -----
    ``variance / (variance + others + pi^2 / 3)``: Merlo J et al. (2006), J Epidemiol Community
    Health 60:290-297.
    """
    _not_negative(variance=variance, others=others)
    return float(variance / (variance + others + LATENT_VARIANCE))


def interval_odds_ratio(
    coefficient: float,
    variance: float,
    *,
    difference: float = 1.0,
    coverage: float = INTERVAL_COVERAGE,
) -> tuple[float, float]:
    """Return between which odds ratios the given part of all pairs of operators lies.

    Parameters
    ----------
    coefficient : float
        Fixed effect of something that differs between operators, logit scale.
    variance : float
        Variance of the operators' effects, 0 or more.
    difference : float
        By how much the two differ in that column.
    coverage : float
        Part of the pairs, between 0 and 1: 0.8 is the IOR-80.

    Notes
    -----
    Larsen K, Merlo J (2005), Am J Epidemiol 161:81-88. It is no confidence interval: an interval
    that holds 1 says that the column matters little beside the operators.
    """
    _not_negative(variance=variance)
    check_confidence(coverage)
    if not np.isfinite([coefficient, difference]).all():
        raise ValueError(f"coefficient {coefficient!r}, difference {difference!r}: wanted finite")
    half = np.sqrt(2.0 * variance) * norm.ppf(0.5 + coverage / 2.0)
    centre = coefficient * difference
    return float(np.exp(centre - half)), float(np.exp(centre + half))


def observed_shares(centre: float, variance: float, others: float = 0.0) -> tuple[float, float]:
    """Return a group's share of the variance of one answer, and of the variance of true rates.

    Parameters
    ----------
    centre : float
        Logit of the middle of the population.
    variance, others : float
        Variance of the group's effects and of all other groups together, logit scale, 0 or more.

    Returns
    -------
    of_answer, of_rates : float
        0 to 1. ``of_rates`` is 0 where no group differs.

    Notes
    -----
    ``Var(E[p | operator])`` over ``p (1 - p)`` at the average rate, and over ``Var(p)``: the
    partition of Goldstein H, Browne W, Rasbash J (2002), Underst Stat 1:223-231, from
    memory, with Gauss-Hermite integrals (101 nodes each way) in place of their simulation.
    """
    _not_negative(variance=variance, others=others)
    nodes, weights = hermegauss(101)
    weights = weights / weights.sum()
    table = expit(centre + np.sqrt(variance) * nodes[:, None] + np.sqrt(others) * nodes)
    own = table @ weights
    mean = float(weights @ own)
    between = float(weights @ (own - mean) ** 2)
    total = float(weights @ ((table - mean) ** 2 @ weights))
    return between / (mean * (1.0 - mean)), min(1.0, between / total) if total > 1e-20 else 0.0


def heterogeneity(
    fit: BinomialFit,
    group: str = "operator",
    *,
    at: Mapping[str, float] | None = None,
    confidence: float = CONFIDENCE,
) -> Heterogeneity:
    """Return how much the levels of a group differ, on every scale, with intervals.

    Parameters
    ----------
    fit : BinomialFit
    group : str
        A grouping factor of the fit.
    at : mapping of str to float, optional
        Fixed columns at which the observed shares are taken; those not named stand at their
        mean over answers.
    confidence : float
        Between 0 and 1, both excluded.

    Notes
    -----
    Intervals are by profile likelihood; those of the observed shares put the ends of the
    standard deviation in place of its estimate, the rest as estimated, so they leave out
    what is uncertain of the average rate and of the other groups. An end is None where the
    data set none.
    """
    check_confidence(confidence)
    sd = profile_sd(fit, group, confidence)
    others = sum(value**2 for name, value in fit.sds.items() if name != group)
    centre = float(row_at(fit, at) @ fit.coefficients)

    def of(scale: Callable[[float], float]) -> Estimate:
        def on(value: float | None) -> float | None:
            return None if value is None else scale(value)

        return Estimate(scale(sd.value), on(sd.low), on(sd.high), sd.n, confidence)

    return Heterogeneity(
        group=group,
        sd=sd,
        median_odds_ratio=of(lambda value: median_odds_ratio(value**2)),
        latent_correlation=profile_share(fit, group, confidence=confidence),
        share_of_groups=(
            profile_share(fit, group, residual=0.0, confidence=confidence) if others > 0 else None
        ),
        observed_share=of(lambda value: observed_shares(centre, value**2, others)[0]),
        share_of_rates=of(lambda value: observed_shares(centre, value**2, others)[1]),
        difference=no_difference(fit, group),
    )


def population_range(
    fit: BinomialFit,
    group: str = "operator",
    *,
    percentiles: tuple[float, float] = PERCENTILES,
    rate: Literal["failure", "success"] = "failure",
    at: Mapping[str, float] | None = None,
    confidence: float = CONFIDENCE,
) -> PopulationRange:
    """Return the rates of an ordinary good and an ordinary poor operator.

    Parameters
    ----------
    fit : BinomialFit
    group : str
        The people.
    percentiles : tuple of float
        Two places in the fitted population, 0 to 100, rising.
    rate : {"failure", "success"}
        As for :func:`scoring.variation.adjusted_rates.adjusted_rates`.
    at : mapping of str to float, optional
        Fixed columns; those not named stand at their mean over answers.
    confidence : float
        Between 0 and 1, both excluded.

    Notes
    -----
    ``centre + z sd`` on the logit scale, then averaged over the other groups. Intervals combine
    the Wald interval of the centre and the profile interval of the spread as independent (MOVER:
    Zou GY, Donner A (2008), Stat Med 27:1693-1702, from memory); they leave out what is
    uncertain of the other groups' spread.
    """
    check_confidence(confidence)
    first, last = percentiles
    if not 0 < first < last < 100:
        raise ValueError(f"percentiles {percentiles!r}: wanted two rising numbers inside 0 to 100")
    sign = 1.0 if rate == "success" else -1.0
    sd = profile_sd(fit, group, confidence)
    row = row_at(fit, at)
    count = len(row)
    centre = sign * float(row @ fit.coefficients)
    half = float(norm.ppf(0.5 + confidence / 2.0)) * float(
        np.sqrt(row @ fit.covariance[:count, :count] @ row)
    )
    others = sum(value**2 for name, value in fit.sds.items() if name != group)

    def shown(percentile: float) -> Estimate:
        z = float(norm.ppf(percentile / 100.0))
        logit = centre + z * sd.value
        value = _rate(logit, others)
        if sd.low is None or sd.high is None:
            return Estimate(value, None, None, sd.n, confidence)
        below, above = abs(z) * (sd.value - sd.low), abs(z) * (sd.high - sd.value)
        if z < 0:
            below, above = above, below
        low, high = logit - np.hypot(half, below), logit + np.hypot(half, above)
        return Estimate(value, _rate(low, others), _rate(high, others), sd.n, confidence)

    lower, upper = shown(first), shown(last)
    return PopulationRange(percentiles, lower, upper, upper.value - lower.value)


def _rate(logit: float, others: float) -> float:
    centre: Vector = np.array([logit])
    return float(averaged(centre, others)[0])


def _not_negative(**values: float) -> None:
    for name, value in values.items():
        if not (np.isfinite(value) and value >= 0):
            raise ValueError(f"{name} {value!r}: wanted 0 or more")
