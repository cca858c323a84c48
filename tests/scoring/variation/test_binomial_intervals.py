"""Profile intervals: where the likelihood says, near 0, and how often they hold the truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import chi2

from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_intervals import (
    no_difference,
    profile_coefficient,
    profile_sd,
    profile_share,
    sd_profile,
)
from tests.scoring.variation.test_binomial import Array, drawn, fitted

QUANTILE = float(chi2.ppf(0.95, 1))


def held(fit: BinomialFit, place: int, value: float) -> float:
    """Deviance lost with one natural parameter held, by another optimiser on plain values."""
    problem = fit.problem
    columns = len(fit.names)

    def value_at(free: Array) -> float:
        theta = np.insert(free, place, value)
        theta[:columns] = np.linalg.solve(problem.back, theta[:columns])
        return problem.likelihood.evaluate(theta)[0]

    start = np.delete(np.concatenate([fit.coefficients, list(fit.sds.values())]), place)
    options = {"xatol": 1e-6, "fatol": 1e-9, "maxiter": 4000}
    found = minimize(value_at, start, method="Nelder-Mead", options=options)
    return float(2 * (found.fun - problem.climbed.value))


def test_ends_are_where_the_likelihood_falls_by_the_quantile() -> None:
    y, m, groups = drawn(3)
    months = np.tile(np.arange(14.0), 12)
    fit = fitted(y, m, groups=groups, fixed={"months": months})
    spread = profile_sd(fit, "operator")
    slope = profile_coefficient(fit, "months")
    assert spread.low is not None
    assert spread.high is not None
    assert slope.low is not None
    assert slope.high is not None
    for end in (spread.low, spread.high):
        assert held(fit, 2, end) == pytest.approx(QUANTILE, rel=2e-3)
    for end in (slope.low, slope.high):
        assert held(fit, 1, end) == pytest.approx(QUANTILE, rel=2e-3)
    assert spread.low < spread.value < spread.high
    assert slope.value == pytest.approx(fit.coefficients[1])


def test_share_of_a_single_group_is_that_of_its_spread() -> None:
    y, m, groups = drawn(4)
    fit = fitted(y, m, groups={"operator": groups["operator"]})
    spread, share = profile_sd(fit, "operator"), profile_share(fit, "operator")
    for s, found in (
        (spread.low, share.low),
        (spread.value, share.value),
        (spread.high, share.high),
    ):
        assert s is not None
        assert found == pytest.approx(s**2 / (s**2 + np.pi**2 / 3), abs=1e-3)
    with pytest.raises(ValueError, match="another group"):
        profile_share(fit, "operator", residual=0.0)
    for of in (profile_sd, profile_share, profile_coefficient, no_difference):
        with pytest.raises(ValueError, match="'site': wanted one of"):
            of(fit, "site")


def test_shares_between_two_groups_add_up_to_one() -> None:
    y, m, groups = drawn(5)
    fit = fitted(y, m, groups=groups)
    one = profile_share(fit, "operator", residual=0.0)
    other = profile_share(fit, "scenario", residual=0.0)
    assert one.value + other.value == pytest.approx(1)
    assert one.low is not None
    assert other.high is not None
    assert one.low == pytest.approx(1 - other.high, abs=2e-3)


def test_wider_confidence_is_wider() -> None:
    y, m, groups = drawn(6)
    fit = fitted(y, m, groups=groups)
    ends = [profile_sd(fit, "operator", confidence) for confidence in (0.5, 0.8, 0.95, 0.99)]
    lows, highs = [e.low for e in ends], [e.high for e in ends]
    assert lows == sorted(lows, reverse=True)  # type: ignore[type-var]
    assert highs == sorted(highs)  # type: ignore[type-var]


def test_no_difference_equals_the_fit_without_the_group() -> None:
    y, m, groups = drawn(7)
    fit = fitted(y, m, groups=groups)
    less = fitted(y, m, groups={"scenario": groups["scenario"]})
    found = no_difference(fit, "operator")
    assert found.statistic == pytest.approx(
        2 * (fit.log_likelihood - less.log_likelihood), abs=1e-4
    )
    assert found.p_value == pytest.approx(float(chi2.sf(found.statistic, 1)) / 2)
    assert found.n == 24


def test_nothing_between_operators_is_an_interval_from_nothing() -> None:
    y, m, groups = drawn(12, spread=0.0)
    for seed in range(12, 40):
        y, m, groups = drawn(seed, spread=0.0)
        fit = fitted(y, m, groups=groups)
        if fit.sds["operator"] == 0:
            break
    assert fit.sds["operator"] == 0
    spread, share = profile_sd(fit, "operator"), profile_share(fit, "operator")
    assert spread.low == share.low == 0
    assert spread.high is not None
    assert 0.05 < spread.high < 1
    assert share.high is not None
    assert 0 < share.high < 0.3
    assert no_difference(fit, "operator").p_value == 1


def test_coverage_and_level() -> None:
    """1,000 departments: 95 % intervals of spread and of a fixed effect hold the truth, 93 to 97 %.

    An interval by profile holds the truth exactly where the deviance lost there is below the
    quantile, so the ends need not be searched for.
    """
    rng = np.random.default_rng(2026)
    o, s = np.indices((30, 8)).reshape(2, -1)
    trained = ((o + s) % 2).astype(float)
    spread, slope, departments = [], [], 1000
    for _ in range(departments):
        eta = 1.0 + 0.5 * trained + rng.normal(0, 0.8, 30)[o] + rng.normal(0, 0.6, 8)[s]
        y = rng.binomial(4, 1 / (1 + np.exp(-eta)))
        fit = fitted(
            y, np.full(240, 4), groups={"operator": o, "scenario": s}, fixed={"t": trained}
        )
        profile, value, error = sd_profile(fit, "operator")
        # Within one standard error the loss is near 1 at most, far below the quantile of 3.84.
        spread.append(abs(value - 0.8) < error or profile.lost(0.8) <= QUANTILE)
        slope.append(abs(fit.coefficients[1] - 0.5) <= 1.959964 * fit.standard_errors[1])
    assert 0.93 <= np.mean(spread) <= 0.97
    assert 0.93 <= np.mean(slope) <= 0.97


def test_level_of_the_test_where_nobody_differs() -> None:
    rng = np.random.default_rng(7)
    o, s = np.indices((20, 6)).reshape(2, -1)
    rejected = []
    for _ in range(250):
        y = rng.binomial(3, 1 / (1 + np.exp(-(1.0 + rng.normal(0, 0.6, 6)[s]))))
        fit = fit_binomial(y, np.full(120, 3), groups={"operator": o, "scenario": s})
        assert isinstance(fit, BinomialFit)
        rejected.append(no_difference(fit, "operator").p_value <= 0.05)
    # Promised 5 %; 3 standard errors of 250 trials are 4.1 points.
    assert np.mean(rejected) <= 0.091
