"""Intervals of a binomial mixed model of very many operators, without refitting it.

The logarithm of a spread estimated from hundreds of people is close to normal, and the
curvature at the maximum then says what the profile likelihood would say, at no further cost.
"""

from __future__ import annotations

import numpy as np
from scipy.stats import chi2, norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, check_confidence
from scoring.variation.adjusted_rates import averaged, row_at
from scoring.variation.binomial import BinomialFit, place_of
from scoring.variation.binomial_intervals import DifferenceTest
from scoring.variation.odds import PERCENTILES, PopulationRange

MANY = 300
"""Operators from which these intervals are used: at 400 their ends differ from the profile's by
less than 2 % (see the tests). A working judgement, no source."""

CLEARLY = 6.0
"""Standard errors that a spread must be above 0: nearer to it even many operators do not make
its logarithm normal. A working judgement, no source."""


def is_large(fit: BinomialFit, group: str = "operator") -> bool:
    """Return whether a fit has at least `MANY` levels and a spread well above 0."""
    sd, error = fit.sds[group], _error(fit, group)
    return len(fit.levels[group]) >= MANY and sd >= CLEARLY * error > 0


def large_sample_sd(
    fit: BinomialFit, group: str = "operator", confidence: float = CONFIDENCE
) -> Estimate:
    """Return a spread with the normal interval of its logarithm.

    Parameters
    ----------
    fit : BinomialFit
        For which `is_large` holds.
    group : str
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Estimate
        Logit scale; ``n`` is the number of levels.

    Raises
    ------
    ValueError
        The spread is estimated as 0.

    Notes
    -----
    ``sd exp(-+ z se / sd)`` with the standard error from the Hessian at the maximum: the
    usual delta method; common practice, no source.
    """
    check_confidence(confidence)
    sd = fit.sds[group]
    if sd <= 0:
        raise ValueError("a spread of 0 has no logarithm")
    reach = float(np.exp(float(norm.ppf(0.5 + confidence / 2.0)) * _error(fit, group) / sd))
    return Estimate(sd, sd / reach, sd * reach, len(fit.levels[group]), confidence)


def large_sample_difference(fit: BinomialFit, group: str = "operator") -> DifferenceTest:
    """Test that a spread is 0 by the square of its estimate over its standard error.

    Where `is_large` holds, this and the likelihood ratio are both below 1e-8, far below any
    level in use, though not the same number.
    """
    statistic = (fit.sds[group] / _error(fit, group)) ** 2
    return DifferenceTest(statistic, float(0.5 * chi2.sf(statistic, 1)), len(fit.levels[group]))


def large_sample_range(
    fit: BinomialFit,
    group: str = "operator",
    percentiles: tuple[float, float] = PERCENTILES,
    confidence: float = CONFIDENCE,
) -> PopulationRange:
    """Return the rates of failure of an ordinary good and an ordinary poor operator.

    Parameters
    ----------
    fit : BinomialFit
        For which `is_large` holds.
    group : str
    percentiles : tuple of float
        Two places in the fitted population, 0 to 100, rising.
    confidence : float
        Between 0 and 1, both excluded.

    Notes
    -----
    As :func:`scoring.variation.odds.population_range`, with the interval of ``centre + z sd``
    from the joint covariance of both (delta method) instead of profiles.
    """
    check_confidence(confidence)
    sd = fit.sds[group]
    row = row_at(fit, None)
    place = len(row) + place_of(group, fit.groups)
    centre = -float(row @ fit.coefficients)
    others = sum(value**2 for name, value in fit.sds.items() if name != group)
    quantile = float(norm.ppf(0.5 + confidence / 2.0))

    def shown(percentile: float) -> Estimate:
        z = float(norm.ppf(percentile / 100.0))
        along = np.zeros(len(fit.covariance))
        along[: len(row)], along[place] = -row, z
        logit = centre + z * sd
        half = quantile * float(np.sqrt(along @ fit.covariance @ along))
        low, value, high = averaged(np.array([logit - half, logit, logit + half]), others)
        return Estimate(float(value), float(low), float(high), len(fit.levels[group]), confidence)

    lower, upper = shown(percentiles[0]), shown(percentiles[1])
    return PopulationRange(percentiles, lower, upper, upper.value - lower.value)


def _error(fit: BinomialFit, group: str) -> float:
    place = len(fit.names) + place_of(group, fit.groups)
    return float(np.sqrt(fit.covariance[place, place]))
