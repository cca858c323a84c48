"""Correlations of an item with a score: against formulas by hand and known truths."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.credit_table import Floats
from scoring.measurement.discrimination import (
    below_zero,
    biserial,
    correlation,
    group_codes,
    point_biserial,
    upper_lower,
    within,
)

PAIRS = st.lists(st.tuples(st.integers(0, 1), st.integers(0, 9)), min_size=4, max_size=25)


@given(PAIRS)
@settings(max_examples=80, deadline=None)
def test_point_biserial_is_the_difference_of_means(pairs: list[tuple[int, int]]) -> None:
    item, score = (np.array(side, dtype=float) for side in zip(*pairs, strict=True))
    found = point_biserial(item, score)
    if np.ptp(item) == 0 or np.ptp(score) == 0:
        assert isinstance(found, TooLittleEvidence)
        return
    assert isinstance(found, Estimate)
    p = item.mean()
    gap = score[item == 1].mean() - score[item == 0].mean()
    assert found.value == pytest.approx(gap / score.std() * np.sqrt(p * (1 - p)))
    other = point_biserial(item, score, sd="sample")
    assert isinstance(other, Estimate)
    assert other.value == pytest.approx(gap / score.std(ddof=1) * np.sqrt(p * (1 - p)))
    if found.low is not None and found.high is not None:
        assert -1 <= found.low <= found.value <= found.high <= 1
        assert (below_zero(found) < 0.05) == (found.high < 0)


def test_fishers_interval_covers_within_groups_too() -> None:
    random = np.random.default_rng(1)
    for forms in (1, 3):
        group = np.asarray(np.arange(60) % forms, dtype=np.float64)
        hits = 0
        for _ in range(1500):
            x = random.normal(size=60)
            y = 0.5 * x + np.sqrt(0.75) * random.normal(size=60)
            x = np.asarray(x + 5 * group, dtype=np.float64)
            y = np.asarray(y - 9 * group, dtype=np.float64)
            found = correlation(
                within(np.array(x, dtype=np.float64), group), within(y, group), groups=forms
            )
            assert isinstance(found, Estimate)
            assert found.low is not None
            assert found.high is not None
            hits += found.low <= 0.5 <= found.high
        assert 0.93 <= hits / 1500 <= 0.97


def test_the_biserial_recovers_the_correlation_below_the_cut() -> None:
    random = np.random.default_rng(2)
    x = random.normal(size=200_000)
    y = 0.6 * x + 0.8 * random.normal(size=200_000)
    assert biserial((x > 0.8).astype(float), y) == pytest.approx(0.6, abs=0.01)


def test_upper_lower_by_hand_and_with_ties() -> None:
    score = np.arange(100.0)
    item = (score >= 50).astype(float)
    found = upper_lower(item, score)
    assert isinstance(found, Estimate)
    assert (found.value, found.n) == (1.0, 54)
    # All ten at the edge share five places, of which four tenths are right.
    tied = np.array([3.0] * 10 + [1.0] * 10)
    credit = np.array([1.0] * 4 + [0.0] * 16)
    shared = upper_lower(credit, tied, share=0.25)
    assert isinstance(shared, Estimate)
    assert shared.value == pytest.approx(0.4)


@given(st.integers(0, 999))
@settings(max_examples=20, deadline=None)
def test_the_order_of_persons_does_not_matter(seed: int) -> None:
    random = np.random.default_rng(seed)
    item: Floats = random.integers(0, 2, 30).astype(np.float64)
    score: Floats = random.integers(0, 6, 30).astype(np.float64)
    order = random.permutation(30)
    for one, other in (
        (upper_lower(item, score), upper_lower(item[order], score[order])),
        (point_biserial(item, score), point_biserial(item[order], score[order])),
    ):
        assert isinstance(one, Estimate)
        assert isinstance(other, Estimate)
        assert other.value == pytest.approx(one.value)


def test_what_cannot_be_is_said() -> None:
    assert isinstance(correlation([1, 2, 3], [1, 2, 3]), TooLittleEvidence)
    assert isinstance(correlation([1] * 9, range(9)), TooLittleEvidence)
    assert isinstance(biserial([1] * 9, range(9)), TooLittleEvidence)
    assert isinstance(upper_lower([1], [1]), TooLittleEvidence)
    assert isinstance(upper_lower([1, 0], [1, 1]), TooLittleEvidence)
    straight = correlation(range(9), range(9))
    assert isinstance(straight, Estimate)
    assert (straight.value, straight.low) == (1.0, None)
    with pytest.raises(DataError, match="person 2"):
        point_biserial([1, 0.5, 0, 1, 1], range(5))
    with pytest.raises(DataError):
        correlation([1, 2], [1])
    with pytest.raises(DataError):
        group_codes(["a"], 2)
    with pytest.raises(ValueError, match="share"):
        upper_lower([1, 0], [1, 2], share=0.7)
