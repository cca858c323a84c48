"""Borderline methods: against a plain least squares fit, and how often the intervals hold."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress  # type: ignore[import-untyped]

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.borderline import (
    BorderlineRegression,
    borderline_group,
    borderline_regression,
)


def test_the_line_is_the_librarys() -> None:
    random = np.random.default_rng(1)
    grade = random.integers(1, 6, 40)
    score = 30 + 9 * grade + random.normal(0, 6, 40)
    found = borderline_regression(grade, score, borderline=2)
    check = linregress(grade, score)
    assert isinstance(found, BorderlineRegression)
    assert found.slope.value == pytest.approx(check.slope)
    assert found.intercept.value == pytest.approx(check.intercept)
    assert found.r_squared == pytest.approx(check.rvalue**2)
    assert found.cut.value == pytest.approx(check.intercept + 2 * check.slope)
    assert not found.beyond
    order = random.permutation(40)
    other = borderline_regression(grade[order], score[order], borderline=2)
    assert isinstance(other, BorderlineRegression)
    assert other.cut.value == pytest.approx(found.cut.value)
    drawn = borderline_regression(grade, score, borderline=2, interval="bootstrap", seed=1)
    assert isinstance(drawn, BorderlineRegression)
    assert drawn.se == pytest.approx(found.se, rel=0.3)
    outside = borderline_regression(grade, score, borderline=0)
    assert isinstance(outside, BorderlineRegression)
    assert outside.beyond


def test_intervals_cover() -> None:
    random = np.random.default_rng(2)
    grade = np.repeat([1, 2, 3, 4, 5], [3, 5, 9, 9, 4])
    line, middle = 0, 0
    for _ in range(1500):
        score = 30 + 9 * grade + random.normal(0, 6, 30)
        found = borderline_regression(grade, score, borderline=2)
        assert isinstance(found, BorderlineRegression)
        assert found.cut.low is not None
        assert found.cut.high is not None
        line += found.cut.low <= 48 <= found.cut.high
        mean = borderline_group(grade, score, borderline=3, method="mean")
        assert isinstance(mean, Estimate)
        assert mean.low is not None
        assert mean.high is not None
        middle += mean.low <= 57 <= mean.high
    assert 0.93 <= line / 1500 <= 0.97
    assert 0.93 <= middle / 1500 <= 0.97


def test_the_median_of_the_borderline_group_and_its_order_statistics() -> None:
    found = borderline_group([2] * 10 + [3], [*range(10), 99], borderline=2)
    assert isinstance(found, Estimate)
    # Ten values: the 2nd and the 9th (binomial, 0.979).
    assert (found.value, found.low, found.high, found.n) == (4.5, 1, 8, 10)
    few = borderline_group([2, 2, 2], [1, 5, 9], borderline=2)
    assert isinstance(few, Estimate)
    assert (few.value, few.low) == (5, None)


@pytest.mark.parametrize(
    ("grade", "score", "missing"),
    [
        ([1], [5], "persons"),
        ([], [], "persons"),
        ([2, 2, 2], [1, 2, 3], "grades"),
        ([1, 2, 3], [5, 5, 5], "slope"),
        ([1, 2, 3], [9, 5, 1], "slope"),
        ([1, 2, None, 4], [1, None, 3, 4], "persons"),
    ],
)
def test_degenerate_data_say_what_is_missing(
    grade: list[float], score: list[float], missing: str
) -> None:
    found = borderline_regression(grade, score, borderline=2)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


def test_a_perfect_line_and_faults() -> None:
    found = borderline_regression([1, 2, 3], [1, 2, 3], borderline=2)
    assert isinstance(found, BorderlineRegression)
    assert found.cut.low == pytest.approx(2)
    assert isinstance(borderline_group([1], [1], borderline=2), TooLittleEvidence)
    with pytest.raises(DataError):
        borderline_regression([1, 2], [1], borderline=2)
    with pytest.raises(DataError):
        borderline_regression([1, 2, 3], [1, 2, np.inf], borderline=2)
