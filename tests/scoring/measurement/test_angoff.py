"""Cuts of judges: by hand, with holes, and how often the interval holds the truth."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.angoff import angoff, angoff_from_long, angoff_rounds, ebel

RATINGS = np.array([[0.6, 0.7, 0.5], [0.5, 0.8, 0.6], [0.7, 0.9, 0.4], [0.4, 0.6, 0.5]])


def test_the_cut_is_the_mean_of_the_judges_totals() -> None:
    found = angoff(RATINGS)
    totals = RATINGS.sum(axis=1)
    assert isinstance(found.cut, Estimate)
    assert isinstance(found.percent, Estimate)
    assert found.cut.value == pytest.approx(totals.mean())
    assert found.percent.value == pytest.approx(100 * totals.mean() / 3)
    assert found.judge_totals == pytest.approx(tuple(totals))
    assert found.judge_sd == pytest.approx(totals.std(ddof=1))
    assert found.se_judges == pytest.approx(totals.std(ddof=1) / 2)
    assert found.se_judges_items is not None
    assert found.se_judges is not None
    assert found.se_judges_items > found.se_judges


def test_scale_weights_long_form_and_rounds_agree() -> None:
    plain = angoff(RATINGS)
    assert angoff(RATINGS * 100, scale=100).judge_totals == pytest.approx(plain.judge_totals)
    judge, item = np.indices(RATINGS.shape) + 1
    long = angoff_from_long(judge.ravel(), item.ravel(), RATINGS.ravel())
    assert long.cut == plain.cut
    weighted = angoff(RATINGS, weights=[2, 1, 1])
    assert weighted.judge_totals == pytest.approx(tuple(RATINGS @ [2, 1, 1]))
    first, second = angoff_rounds([RATINGS, RATINGS + 0.05])
    assert first.cut == plain.cut
    assert isinstance(second.cut, Estimate)
    assert second.cut.value == pytest.approx(sum(plain.judge_totals) / 4 + 0.15)


def test_missing_ratings_and_judges_without_any() -> None:
    additive = np.array([[0.3], [0.5], [0.4]]) + np.array([[0.0, 0.2, 0.1, 0.3]])
    holed = np.vstack((additive, np.full(4, np.nan)))
    found = angoff(holed)
    assert found.judges == (1, 2, 3)
    holed[0, 1] = np.nan
    fewer = angoff(holed)
    assert isinstance(fewer.cut, Estimate)
    assert fewer.cut.value == pytest.approx(additive.mean(axis=0)[[0, 2, 3]].sum() + 0.65)
    assert fewer.se_judges_items is None
    holed[:, 1] = np.nan
    assert isinstance(angoff(holed).cut, TooLittleEvidence)
    assert isinstance(angoff(np.empty((0, 3))).cut, TooLittleEvidence)
    one = angoff([[0.5, 0.6]]).cut
    assert isinstance(one, Estimate)
    assert (one.low, one.n) == (None, 1)


def test_the_interval_over_judges_covers() -> None:
    random = np.random.default_rng(1)
    item = random.uniform(0.4, 0.8, 10)
    hits = 0
    for _ in range(1500):
        judged = item + random.normal(0, 0.05, (8, 1)) + random.normal(0, 0.05, (8, 10))
        found = angoff(np.clip(judged, 0, 1)).cut
        assert isinstance(found, Estimate)
        assert found.low is not None
        assert found.high is not None
        hits += found.low <= item.sum() <= found.high
    assert 0.93 <= hits / 1500 <= 0.97


def test_ebel_by_hand_and_faults() -> None:
    assert ebel([[10, 5], [5, 0]], [[0.9, 0.6], [0.5, 0.0]]) == pytest.approx((14.5, 72.5))
    assert isinstance(ebel([0], [0.5]), TooLittleEvidence)
    with pytest.raises(DataError, match="judge 1, item 2"):
        angoff([[0.5, 1.2]])
    with pytest.raises(DataError):
        angoff([[0.5, 0.6]], weights=[1])
    with pytest.raises(DataError):
        ebel([1, 2], [0.5])
