"""Hofstee's compromise: against a fine search, when the line misses, and faults."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.hofstee import hofstee


@given(st.integers(0, 9999))
@settings(max_examples=40, deadline=None)
def test_the_cut_is_where_a_fine_search_finds_the_share_reach_the_line(seed: int) -> None:
    scores = np.round(np.random.default_rng(seed).normal(60, 12, 30))
    found = hofstee(scores, 45, 65, 0.05, 0.5, samples=0)
    grid = np.arange(45, 65, 0.001)
    below = np.searchsorted(np.sort(scores), grid) / 30
    reached = grid[below >= 0.5 + (0.05 - 0.5) * (grid - 45) / 20]
    if isinstance(found.cut, Estimate):
        first = reached[0] if len(reached) else 65.0
        assert found.cut.value == pytest.approx(first, abs=0.0021)
        assert 45 <= found.cut.value <= 65
    elif found.cut.missing == "line above the curve":
        assert not len(reached)
    else:
        assert (scores < 45).mean() > 0.5


def test_straight_lines_between_scores_and_judges_averaged() -> None:
    scores = np.arange(101.0)
    found = hofstee(scores, [40, 50], [60, 70], [0.2, 0.3], [0.6, 0.7], curve="line", samples=50)
    # Share about c / 101; line from (45, 0.65) to (65, 0.25).
    assert isinstance(found.cut, Estimate)
    assert found.cut.value == pytest.approx(1.55 / (0.02 + 1 / 101), abs=1e-6)
    assert found.cut.low is not None
    assert found.cut.high is not None
    assert found.cut.low <= found.cut.value <= found.cut.high
    assert found.cut_range == (45, 65)
    assert found.fail_range == pytest.approx((0.25, 0.65))
    middle = hofstee(scores, [40, 41, 90], [60, 61, 99], [0] * 3, [1] * 3, average="median")
    assert middle.cut_range == (41, 61)


def test_a_line_that_misses_is_said() -> None:
    weak, able = np.arange(20.0), np.arange(80.0, 100.0)
    above = hofstee(weak, 50, 60, 0.05, 0.3)
    assert isinstance(above.cut, TooLittleEvidence)
    assert above.cut.missing == "line below the curve"
    assert above.nearest == 50
    assert "lowest cut, 50" in above.cut.said
    under = hofstee(able, 50, 60, 0.05, 0.3)
    assert isinstance(under.cut, TooLittleEvidence)
    assert under.nearest == 60
    assert under.fail_rate == 0
    assert isinstance(hofstee([], 50, 60, 0, 0.3).cut, TooLittleEvidence)
    assert isinstance(hofstee([50], 50, 60, 0, 0.3).cut, TooLittleEvidence)


def test_the_same_seed_gives_the_same_interval_and_order_does_not_matter() -> None:
    scores = np.random.default_rng(1).normal(60, 12, 50)
    one = hofstee(scores, 45, 65, 0.05, 0.5, samples=200, seed=2)
    assert one == hofstee(scores[::-1], 45, 65, 0.05, 0.5, samples=200, seed=2)


def test_faults_are_named() -> None:
    for ends in ((60, 50, 0, 0.3), (50, 60, 0.4, 0.3), (50, 60, 0, 30), (50, [60, 61], 0, 0.3)):
        with pytest.raises(DataError):
            hofstee([1, 2, 3], *ends)
