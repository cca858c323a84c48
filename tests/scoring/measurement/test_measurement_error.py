"""Errors of scores: against the analysis of variance, Lord's formula and known truths."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.credit_table import Floats
from scoring.measurement.measurement_error import (
    binomial_error,
    conditional_error,
    keats_factor,
    measurement_error,
    standard_error_of_measurement,
    true_score,
)
from scoring.measurement.reliability import kr20, kr21

BINARY = arrays(
    np.float64, st.tuples(st.integers(3, 10), st.integers(2, 6)), elements=st.integers(0, 1)
)


def test_the_error_is_that_of_the_two_way_analysis_of_variance() -> None:
    table = np.random.default_rng(1).random((12, 5))
    person, item = table.mean(axis=1, keepdims=True), table.mean(axis=0)
    rest = ((table - person - item + table.mean()) ** 2).sum() / (11 * 4)
    found = measurement_error(table)
    assert isinstance(found, Estimate)
    assert found.value == pytest.approx(np.sqrt(5 * rest))


def test_the_interval_of_the_error_covers() -> None:
    random = np.random.default_rng(2)
    hits = 0
    for _ in range(1500):
        found = measurement_error(random.normal(size=(15, 1)) + random.normal(size=(15, 4)))
        assert isinstance(found, Estimate)
        assert found.low is not None
        assert found.high is not None
        hits += found.low <= 2.0 <= found.high
    assert 0.93 <= hits / 1500 <= 0.97


@given(BINARY)
@settings(max_examples=50, deadline=None)
def test_a_persons_own_error_of_right_wrong_items_is_lords(table: Floats) -> None:
    own = conditional_error(table)
    np.testing.assert_allclose(own, binomial_error(table.sum(axis=1), table.shape[1]), atol=1e-12)


def test_mean_squares_agree_with_kr21_and_with_keats_with_kr20() -> None:
    table = (np.random.default_rng(3).random((60, 8)) < np.linspace(0.2, 0.9, 8)).astype(float)
    table[:30] = np.maximum(table[:30], table[30:])
    total = table.sum(axis=1)
    one, other = kr20(table), kr21(table)
    assert isinstance(one, Estimate)
    assert isinstance(other, float)
    square = (binomial_error(total, 8) ** 2).mean()
    assert square == pytest.approx(total.var() * (1 - other))
    keats = binomial_error(total, 8, factor=keats_factor(one.value, other))
    assert (keats**2).mean() == pytest.approx(total.var() * (1 - one.value))


def test_relative_errors_average_to_the_error_of_measurement() -> None:
    table = np.random.default_rng(4).random((30, 6))
    whole = measurement_error(table)
    assert isinstance(whole, Estimate)
    own = conditional_error(table, error="relative")
    assert (own**2).sum() / 29 == pytest.approx(whole.value**2)


def test_sections_and_weights_by_hand() -> None:
    row = [1.0, 0.0, 1.0, 1.0, 0.0]
    found = conditional_error([row], strata=["a", "a", "b", "b", "b"])[0]
    assert found**2 == pytest.approx(1 * 1 / 1 + 2 * 1 / 2)
    doubled = conditional_error([row], strata=["a", "a", "b", "b", "b"], weights=[2, 2, 1, 1, 1])
    assert doubled[0] ** 2 == pytest.approx(4 * 1 + 1)


def test_missing_items_and_lone_items() -> None:
    nan = np.nan
    found = conditional_error(np.array([[1, 0, nan], [1, nan, nan], [nan, nan, nan], [1, 1, 1]]))
    assert found[0] == pytest.approx(1.0)
    assert np.isnan(found[1])
    assert np.isnan(found[2])
    assert found[3] == 0
    assert np.isnan(conditional_error([[1, nan]], error="relative")).all()
    assert isinstance(measurement_error([[1, 0]]), TooLittleEvidence)
    with pytest.raises(DataError):
        binomial_error([6], 5)
    with pytest.raises(DataError):
        conditional_error([[1, 0]], strata=["a"])
    with pytest.raises(DataError):
        conditional_error([[1, 0]], weights=[1])
    with pytest.raises(DataError):
        standard_error_of_measurement(-1, 0.5)
    with pytest.raises(DataError):
        keats_factor(0.5, 1.0)


def test_intervals_of_true_scores_cover() -> None:
    random = np.random.default_rng(5)
    true = random.normal(50, 6, 4000)
    seen = true + random.normal(0, 8, 4000)
    methods: tuple[Literal["kelley", "observed"], ...] = ("kelley", "observed")
    for method in methods:
        hits = 0
        for one, score in zip(true, seen, strict=True):
            found = true_score(score, 0.36, mean=50, sd=10, method=method)
            assert found.low is not None
            assert found.high is not None
            hits += found.low <= one <= found.high
        assert 0.93 <= hits / 4000 <= 0.97


def test_kelley_pulls_to_the_mean_and_is_nearer() -> None:
    found = true_score(80, 0.5, mean=60, sd=10)
    assert found.value == 70
    own = true_score(80, 0.5, mean=60, sd=10, method="observed")
    assert found.low is not None
    assert own.low is not None
    assert own.value - own.low > found.value - found.low
