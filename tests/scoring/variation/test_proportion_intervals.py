"""Intervals of proportions against statsmodels, against their own definitions, and by coverage."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.variation import intervals
from scoring.variation.proportion_intervals import (
    METHODS,
    difference_interval,
    proportion_interval,
    rule_of_three,
    trials_needed,
)

PAIRS = st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def ends(count: float, n: float, method: str, confidence: float = 0.95) -> tuple[float, float]:
    found = proportion_interval(count, n, confidence, method)
    assert isinstance(found, Estimate)
    assert found.low is not None
    assert found.high is not None
    return found.low, found.high


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [("wilson", "wilson"), ("exact", "beta"), ("wald", "normal"),
     ("agresti-coull", "agresti_coull"), ("jeffreys", "jeffreys")],
)  # fmt: skip
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_agrees_with_statsmodels(ours: str, theirs: str, confidence: float) -> None:
    for count, n in ((81, 263), (15, 148), (1, 29), (28, 29), (5, 10)):
        expected = proportion_confint(count, n, alpha=1 - confidence, method=theirs)
        found = np.clip(ends(count, n, ours, confidence), 0, 1)
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_the_light_wilson_is_the_same() -> None:
    for count, n in ((0, 20), (3, 7), (20, 20)):
        light = intervals.wilson(count, n)
        assert ends(count, n, "wilson") == pytest.approx((light.low, light.high), abs=1e-12)


@given(PAIRS)
def test_the_exact_ends_have_the_exact_tails(pair: tuple[int, int]) -> None:
    count, n = pair
    low, high = ends(count, n, "exact")
    if count > 0:
        assert binom.sf(count - 1, n, low) == pytest.approx(0.025, rel=1e-6)
    if count < n:
        assert binom.cdf(count, n, high) == pytest.approx(0.025, rel=1e-6)


@given(PAIRS)
def test_the_mid_p_ends_count_half_of_what_was_found(pair: tuple[int, int]) -> None:
    count, n = pair
    low, high = ends(count, n, "mid-p")
    if count > 0:
        half = binom.sf(count, n, low) + binom.pmf(count, n, low) / 2
        assert half == pytest.approx(0.025, rel=1e-5)
    if count < n:
        half = binom.cdf(count - 1, n, high) + binom.pmf(count, n, high) / 2
        assert half == pytest.approx(0.025, rel=1e-5)


@given(PAIRS)
def test_the_corrected_score_ends_solve_their_equation(pair: tuple[int, int]) -> None:
    count, n = pair
    share, z = count / n, 1.959963984540054
    low, high = ends(count, n, "wilson-cc")
    if low > 0:
        gap = share - low - 0.5 / n
        assert gap == pytest.approx(z * math.sqrt(low * (1 - low) / n), abs=1e-9)
    if high < 1:
        gap = high - share - 0.5 / n
        assert gap == pytest.approx(z * math.sqrt(high * (1 - high) / n), abs=1e-9)


@pytest.mark.parametrize("method", sorted(METHODS))
@given(pair=PAIRS)
def test_ends_stay_in_order_and_mirror(method: str, pair: tuple[int, int]) -> None:
    count, n = pair
    low, high = ends(count, n, method)
    assert low <= count / n <= high
    other = ends(n - count, n, method)
    assert (low, high) == pytest.approx((1 - other[1], 1 - other[0]), abs=1e-9)
    clipped = proportion_interval(count, n, method=method, clip=True)
    assert isinstance(clipped, Estimate)
    assert 0 <= (clipped.low or 0.0) <= (clipped.high or 0.0) <= 1
    if method not in ("wald", "wald-cc", "agresti-coull"):
        assert 0 <= low <= high <= 1


@pytest.mark.parametrize("method", sorted(METHODS))
def test_intervals_narrow_with_n(method: str) -> None:
    widths = [high - low for low, high in (ends(n // 5, n, method) for n in (10, 50, 250, 1000))]
    assert widths == sorted(widths, reverse=True)


@pytest.mark.parametrize(
    ("method", "least", "most"),
    # Exact never falls below 95 %; the others hold it on average over p, Wald does not.
    [("exact", 0.95, 0.99), ("wilson", 0.93, 0.97), ("wilson-cc", 0.95, 0.99),
     ("mid-p", 0.93, 0.97), ("jeffreys", 0.93, 0.97), ("agresti-coull", 0.93, 0.97)],
)  # fmt: skip
def test_coverage_summed_exactly(method: str, least: float, most: float) -> None:
    n = 40
    bounds = np.array([ends(count, n, method) for count in range(n + 1)])
    truths = np.linspace(0.05, 0.95, 181)
    chance = binom.pmf(np.arange(n + 1)[:, None], n, truths)
    inside = (bounds[:, :1] <= truths) & (truths <= bounds[:, 1:])
    coverage = (chance * inside).sum(axis=0)
    assert least <= coverage.mean() <= most
    if method == "exact":
        assert coverage.min() >= 0.95


def test_one_sided_limits_take_the_whole_tail() -> None:
    upper = proportion_interval(2, 30, 0.95, "exact", sided="upper")
    lower = proportion_interval(2, 30, 0.95, "exact", sided="lower")
    assert isinstance(upper, Estimate)
    assert isinstance(lower, Estimate)
    both = ends(2, 30, "exact", 0.9)
    assert (lower.low, upper.high) == pytest.approx(both, rel=1e-12)
    assert (upper.low, lower.high) == (0.0, 1.0)


@given(st.integers(0, 5), st.floats(0.005, 0.4))
def test_trials_needed_are_the_fewest(failures: int, limit: float) -> None:
    n = trials_needed(limit, failures)
    assert binom.cdf(failures, n, limit) <= 0.05 * (1 + 1e-9)
    assert binom.cdf(failures, n - 1, limit) > 0.05 * (1 - 1e-9)


def test_difference_agrees_with_statsmodels() -> None:
    found = difference_interval(9, 10, 3, 10)
    assert isinstance(found, Estimate)
    expected = confint_proportions_2indep(9, 10, 3, 10, method="newcomb")
    assert (found.low, found.high) == pytest.approx(expected, rel=1e-9)


def test_rule_of_three_is_close_for_many_and_never_above_one() -> None:
    exact = proportion_interval(0, 300, 0.95, "exact", sided="upper")
    assert isinstance(exact, Estimate)
    assert rule_of_three(300) == pytest.approx(exact.high, rel=0.01)
    assert rule_of_three(2) == 1.0
    with pytest.raises(DataError):
        rule_of_three(0)


def test_no_trial_is_too_little() -> None:
    none = proportion_interval(0, 0)
    assert isinstance(none, TooLittleEvidence)
    assert none.missing == "trials"
    assert isinstance(difference_interval(1, 2, 0, 0), TooLittleEvidence)
    assert isinstance(difference_interval(0, 0, 1, 2), TooLittleEvidence)


@pytest.mark.parametrize(
    ("count", "n"), [(-1, 5), (6, 5), (math.nan, 5), (1, math.inf), (1, 0), (0, -1)]
)
def test_a_count_off_its_range_is_refused(count: float, n: float) -> None:
    with pytest.raises(DataError):
        proportion_interval(count, n)


def test_a_setting_off_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="method"):
        proportion_interval(1, 2, method="bayes")
    with pytest.raises(ValueError, match="sided"):
        proportion_interval(1, 2, sided="both")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="confidence"):
        proportion_interval(1, 2, 1.0)
    with pytest.raises(ValueError, match="limit"):
        trials_needed(0.0)
    with pytest.raises(ValueError, match="failures"):
        trials_needed(0.1, -1)
    with pytest.raises(ValueError, match="more than"):
        trials_needed(1e-9)
