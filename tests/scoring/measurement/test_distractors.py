"""Use of options: counts by hand, the flag for a better liked wrong option, faults."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import ttest_ind  # type: ignore[import-untyped]

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.distractors import distractor_use, welch


def test_counts_shares_and_means_by_hand() -> None:
    found = distractor_use(
        ["a", "b", "a", None, "b", "a"], "a", [5, 1, 7, 3, 2, np.nan], options=["a", "b", "c"]
    )
    assert [use.option for use in found] == ["a", "b", "c"]
    assert [use.count for use in found] == [3, 2, 0]
    assert [use.mean_rest for use in found] == [6, 1.5, None]
    assert [use.unused for use in found] == [False, False, True]
    share = found[0].share
    assert isinstance(share, Estimate)
    assert (share.value, share.n) == (0.6, 5)
    gap = found[1].better_than_key
    assert isinstance(gap, Estimate)
    assert gap.value == -4.5
    assert found[1].probability == pytest.approx(1.0, abs=0.05)
    assert isinstance(found[2].better_than_key, TooLittleEvidence)


def test_welch_is_the_librarys_and_its_sign_counts() -> None:
    random = np.random.default_rng(1)
    one, other = random.normal(1, 1, 20), random.normal(0, 3, 9)
    gap, probability = welch(one, other, 0.95)
    check = ttest_ind(one, other, equal_var=False)
    ends = check.confidence_interval(0.95)
    assert isinstance(gap, Estimate)
    assert (gap.low, gap.high) == pytest.approx((ends.low, ends.high))
    above = check.pvalue if gap.value > 0 else 1.0
    assert probability == pytest.approx(above)
    assert welch(other - 9, one, 0.95)[1] == 1.0


def test_several_keys_are_one_side() -> None:
    found = distractor_use(["a", "b", "c"] * 4, ["a", "b"], list(range(12)))
    assert [use.key for use in found] == [True, True, False]
    gap = found[2].better_than_key
    assert isinstance(gap, Estimate)
    assert gap.n == 12


def test_faults_are_named() -> None:
    with pytest.raises(DataError, match="'d'"):
        distractor_use(["a", "d"], "a", [1, 2], options=["a", "b"])
    with pytest.raises(DataError):
        distractor_use(["a"], "a", [1, 2])
    found = distractor_use([None, None], "a", [1, 2])
    assert isinstance(found[0].share, TooLittleEvidence)
