"""Contrasting groups: by hand, against a search over all cuts, and how often intervals hold."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.contrasting_groups import contrasting_groups


def value(found: object) -> float:
    assert isinstance(found, Estimate), found
    return found.value


def test_the_cut_with_fewest_wrong_is_that_of_a_search() -> None:
    random = np.random.default_rng(1)
    for _ in range(20):
        score = np.round(random.normal(60, 10, 40))
        group = (score + random.normal(0, 8, 40) > 58).astype(int)
        found = contrasting_groups(score, group, cost_false_pass=3, samples=20)
        cost = 3 * found.false_passes + found.false_fails
        least = min(
            3 * ((score >= cut) & (group == 0)).sum() + ((score < cut) & (group == 1)).sum()
            for cut in np.arange(20, 101, 0.5)
        )
        assert cost == least


def test_equal_groups_of_equal_spread_part_half_way_by_every_rule() -> None:
    poor = np.array([40.0, 45, 50, 55, 60, 65])
    score = np.concatenate((poor, poor + 10))
    found = contrasting_groups(score, [0] * 6 + [1] * 6, samples=50)
    assert value(found.midpoint) == pytest.approx(57.5)
    assert value(found.logistic) == pytest.approx(57.5)
    assert value(found.normal) == pytest.approx(57.5)
    assert (found.mean_competent, found.mean_not) == (62.5, 52.5)


def held(found: object, truth: float) -> bool:
    assert isinstance(found, Estimate)
    assert found.low is not None
    assert found.high is not None
    return found.low <= truth <= found.high


def test_the_interval_of_the_midpoint_covers_for_groups_of_fixed_size() -> None:
    random = np.random.default_rng(2)
    group = np.repeat([1, 0], [40, 40])
    hits, wide = 0, 0
    for _ in range(1000):
        found = contrasting_groups(random.normal(60, 8, 80) + 12 * group, group, samples=2)
        hits += held(found.midpoint, 66)
        wide += held(found.logistic, 66)
    assert 0.93 <= hits / 1000 <= 0.97
    # Sizes that were chosen leave less to chance than the interval allows for.
    assert wide / 1000 >= 0.97


def test_the_interval_of_the_logistic_line_covers_for_a_sample_of_one_population() -> None:
    random = np.random.default_rng(3)
    hits = 0
    for _ in range(1000):
        score = random.normal(60, 10, 120)
        group = (random.random(120) < 1 / (1 + np.exp(-(score - 58) / 5))).astype(int)
        hits += held(contrasting_groups(score, group, samples=2).logistic, 58)
    assert 0.93 <= hits / 1000 <= 0.97


@pytest.mark.parametrize(
    ("score", "group"),
    [([], []), ([50], [1]), ([50, 60, 70], [1, 1, 1]), ([9, 9, 1, 1], [0, 0, 1, 1])],
)
def test_degenerate_groups_say_what_is_missing(score: list[float], group: list[int]) -> None:
    found = contrasting_groups(score, group)
    assert isinstance(found.midpoint, TooLittleEvidence)
    assert isinstance(found.logistic, TooLittleEvidence)


def test_groups_apart_and_faults() -> None:
    found = contrasting_groups([1, 2, 8, 9], [False, False, True, True], samples=20)
    assert isinstance(found.logistic, TooLittleEvidence)
    assert value(found.fewest_wrong) == 5
    assert (found.false_passes, found.false_fails) == (0, 0)
    with pytest.raises(DataError):
        contrasting_groups([1, 2], [1])
    with pytest.raises(DataError):
        contrasting_groups([1, 2], [1, 3])
    with pytest.raises(DataError):
        contrasting_groups([1, 2], [1, 0], cost_false_pass=0)
