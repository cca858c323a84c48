"""Differences between operators told as odds, shares and rates."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit

from scoring.variation.odds import (
    heterogeneity,
    interval_odds_ratio,
    latent_correlation,
    median_odds_ratio,
    observed_shares,
    population_range,
)
from tests.scoring.variation.test_binomial import drawn, fitted


def test_median_odds_ratio_is_the_median_over_pairs() -> None:
    rng = np.random.default_rng(1)
    gaps = np.abs(rng.normal(0, 0.8, 400_000) - rng.normal(0, 0.8, 400_000))
    assert median_odds_ratio(0.64) == pytest.approx(np.median(np.exp(gaps)), rel=0.01)


def test_interval_odds_ratio_spans_its_part_of_the_pairs() -> None:
    rng = np.random.default_rng(2)
    ratios = np.exp(0.5 * 2 + rng.normal(0, 0.7, 400_000) - rng.normal(0, 0.7, 400_000))
    low, high = interval_odds_ratio(0.5, 0.49, difference=2.0)
    assert np.mean((ratios > low) & (ratios < high)) == pytest.approx(0.8, abs=0.005)
    assert interval_odds_ratio(0.0, 0.0) == (1.0, 1.0)


@given(st.floats(0, 25), st.floats(0, 25))
def test_figures_grow_with_the_variance_and_keep_their_bounds(one: float, other: float) -> None:
    small, large = sorted((one, other))
    assert 1 <= median_odds_ratio(small) <= median_odds_ratio(large)
    assert 0 <= latent_correlation(small) <= latent_correlation(large) < 1
    assert latent_correlation(small, large) <= latent_correlation(small)


@given(st.floats(-4, 4), st.floats(0.01, 4), st.floats(0, 4))
def test_observed_shares_keep_their_bounds(centre: float, variance: float, others: float) -> None:
    answer, rates = observed_shares(centre, variance, others)
    assert 0 < answer < rates <= 1
    mirror = observed_shares(-centre, variance, others)
    assert mirror == pytest.approx((answer, rates), rel=1e-9)


def test_observed_shares_equal_a_simulation() -> None:
    rng = np.random.default_rng(3)
    u, v = rng.normal(0, 0.9, 3000), rng.normal(0, 0.6, 1000)
    table = expit(1.5 + u[:, None] + v)
    mean, own = table.mean(), table.mean(axis=1)
    answer, rates = observed_shares(1.5, 0.81, 0.36)
    assert answer == pytest.approx(own.var() / (mean * (1 - mean)), rel=0.06)
    assert rates == pytest.approx(own.var() / table.var(), rel=0.06)
    assert observed_shares(1.5, 0.0, 0.0) == pytest.approx((0.0, 0.0), abs=1e-12)


def test_everything_about_one_group_holds_together() -> None:
    y, m, groups = drawn(3)
    fit = fitted(y, m, groups=groups)
    found = heterogeneity(fit, "operator")
    assert found.median_odds_ratio.value == pytest.approx(
        median_odds_ratio(fit.variance("operator"))
    )
    expected = latent_correlation(fit.variance("operator"), fit.variance("scenario"))
    assert found.latent_correlation.value == pytest.approx(expected)
    assert found.share_of_groups is not None
    for figure in (
        found.sd,
        found.median_odds_ratio,
        found.latent_correlation,
        found.share_of_groups,
        found.observed_share,
        found.share_of_rates,
    ):
        assert figure.low is not None
        assert figure.high is not None
        assert figure.low < figure.value < figure.high
        assert figure.n == 24
    assert found.difference.p_value < 0.05
    alone = fitted(y, m, groups={"operator": groups["operator"]})
    assert heterogeneity(alone).share_of_groups is None


def test_two_operators_of_the_population_in_plain_numbers() -> None:
    y, m, groups = drawn(3)
    fit = fitted(y, m, groups=groups)
    found = population_range(fit)
    rng = np.random.default_rng(4)
    b, sd, other = -fit.coefficients[0], fit.sds["operator"], fit.sds["scenario"]
    for estimate, z in ((found.lower, -1.281552), (found.upper, 1.281552)):
        drawn_rates = expit(b + z * sd + rng.normal(0, other, 400_000))
        assert estimate.value == pytest.approx(drawn_rates.mean(), abs=2e-3)
        assert estimate.low is not None
        assert estimate.high is not None
        assert 0 < estimate.low < estimate.value < estimate.high < 1
    assert found.difference == pytest.approx(found.upper.value - found.lower.value)
    mirror = population_range(fit, rate="success")
    assert mirror.lower.value == pytest.approx(1 - found.upper.value)


def test_intervals_of_the_range_hold_the_truth() -> None:
    """100 departments: both ends' intervals, whose parts are taken as independent."""
    rng = np.random.default_rng(8)
    o, s = np.indices((25, 10)).reshape(2, -1)
    truth = [
        float(np.mean(expit(-1.0 + z * 0.8 + 0.5 * rng.normal(size=400_000))))
        for z in (-1.281552, 1.281552)
    ]
    inside = []
    for _ in range(100):
        eta = 1.0 + rng.normal(0, 0.8, 25)[o] + rng.normal(0, 0.5, 10)[s]
        y = rng.binomial(4, expit(eta))
        fit = fitted(y, np.full(250, 4), groups={"operator": o, "scenario": s})
        found = population_range(fit)
        for estimate, true in zip((found.lower, found.upper), truth, strict=True):
            assert estimate.low is not None
            assert estimate.high is not None
            inside.append(estimate.low <= true <= estimate.high)
    # Promised 95 %; what 200 trials allow either way is 5 points.
    assert 0.90 <= np.mean(inside) <= 0.99


def test_wrong_parameters_are_refused() -> None:
    for call in (
        lambda: median_odds_ratio(-1.0),
        lambda: latent_correlation(float("nan")),
        lambda: interval_odds_ratio(1.0, 1.0, coverage=1.0),
    ):
        with pytest.raises(ValueError, match=r"wanted|between"):
            call()
    y, m, groups = drawn(3)
    fit = fitted(y, m, groups=groups)
    with pytest.raises(ValueError, match="percentiles"):
        population_range(fit, percentiles=(90.0, 10.0))
