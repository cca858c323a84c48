"""Moments of true scores: fitted back exactly where the observed scores follow the model."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import betabinom  # type: ignore[import-untyped]

from scoring.evidence import DataError
from scoring.measurement.credit_table import Floats
from scoring.measurement.true_score_beta import (
    TrueScoreBeta,
    effective_test_length,
    fit_four,
    fit_two,
    lords_k,
    true_moments,
)


def raw(n: int, alpha: float, beta: float) -> Floats:
    x = np.arange(n + 1)
    mass = betabinom.pmf(x, n, alpha, beta)
    return np.array([[float((mass * (x / n) ** power).sum()) for power in range(1, 5)]])


@pytest.mark.parametrize(("alpha", "beta"), [(5.0, 3.0), (2.0, 2.0), (0.8, 4.0), (9.0, 1.5)])
def test_exact_moments_give_the_distribution_back(alpha: float, beta: float) -> None:
    moments = true_moments(raw(20, alpha, beta), np.array([20.0]), np.zeros(1))
    two, good = fit_two(moments)
    assert good.all()
    np.testing.assert_allclose(two[0], [0, 1, alpha, beta], rtol=1e-9)
    four, valid = fit_four(moments)
    assert valid.all()
    np.testing.assert_allclose(four[0], [0, 1, alpha, beta], rtol=1e-5, atol=1e-6)


def test_bounds_are_found_too() -> None:
    share = np.random.default_rng(1).beta(2, 3, 1_000_000) * 0.6 + 0.2
    moments = np.array([[float((share**power).mean()) for power in range(1, 5)]])
    four, valid = fit_four(moments)
    assert valid.all()
    np.testing.assert_allclose(four[0], [0.2, 0.8, 2, 3], rtol=0.05)


def test_moments_that_no_distribution_has_are_refused() -> None:
    same = np.array([[0.5, 0.25, 0.125, 0.0625]])
    assert not fit_two(same)[1].any()
    assert not fit_four(same)[1].any()
    short = true_moments(raw(3, 5, 3), np.array([3.0]), np.zeros(1))
    assert np.isnan(short[0, 3])


def test_lords_k_is_zero_with_kr21_and_rises_with_reliability() -> None:
    n, mean, variance = 20, 12.0, 16.0
    kr21 = n / (n - 1) * (1 - mean * (n - mean) / (n * variance))
    at = {"items": n, "mean": mean, "variance": variance}
    assert lords_k(**at, reliability=kr21) == pytest.approx(0, abs=1e-9)  # type: ignore[arg-type]
    assert lords_k(**at, reliability=kr21 + 0.05) > 0  # type: ignore[arg-type]


def test_the_effective_length_of_a_binomial_score_is_its_length() -> None:
    moments = raw(40, 5, 3)[0]
    mean, variance = moments[0] * 40, (moments[1] - moments[0] ** 2) * 1600
    r = 40 / 39 * (1 - mean * (40 - mean) / (40 * variance))
    found = effective_test_length(
        mean=mean, variance=variance, reliability=r, minimum=0, maximum=40, rounded=False
    )
    assert found == pytest.approx(40)
    for wrong in ({"reliability": 1.0}, {"mean": 0.0}, {"variance": 500.0}, {"variance": 0.0}):
        figures = {"mean": 20.0, "variance": 50.0, "reliability": 0.7} | wrong
        with pytest.raises(DataError):
            effective_test_length(
                mean=figures["mean"],
                variance=figures["variance"],
                reliability=figures["reliability"],
                minimum=0,
                maximum=40,
            )
    for shape in ((0.5, 0.5, 1, 1), (0, 1, 0, 1), (-0.1, 1, 1, 1)):
        with pytest.raises(DataError):
            TrueScoreBeta(*shape)
