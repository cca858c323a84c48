"""Groups that stand out: against plain sums, tables from memory, and how often they are named."""

from __future__ import annotations

import statistics

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.consistency import (
    Consistency,
    cochran_limit,
    consistency,
    grubbs_limit,
    mandel_h_limit,
    mandel_k_limit,
)

GROUPS = {"a": [4.1, 4.4, 4.0], "b": [5.2, 5.0, 5.1], "c": [4.6, 4.9, 4.5], "d": [4.0, 4.9, 4.2]}


def test_statistics_are_those_of_plain_sums() -> None:
    found = consistency(
        [v for held in GROUPS.values() for v in held],
        [g for g, held in GROUPS.items() for _ in held],
    )
    assert isinstance(found, Consistency)
    means = [statistics.mean(held) for held in GROUPS.values()]
    variances = [statistics.variance(held) for held in GROUPS.values()]
    for at, name in enumerate(GROUPS):
        h = (means[at] - statistics.mean(means)) / statistics.stdev(means)
        assert found.h[name] == pytest.approx(h)
        assert found.k[name] == pytest.approx((variances[at] / statistics.mean(variances)) ** 0.5)
    assert found.cochran.statistic == pytest.approx(max(variances) / sum(variances))
    assert (found.cochran.group, found.highest.group, found.lowest.group) == ("d", "b", "a")
    assert found.highest.statistic == pytest.approx(found.h["b"])
    assert found.lowest.statistic == pytest.approx(-found.h["a"])


def test_limits_are_those_of_the_tables() -> None:
    # Figures of the usual tables, from memory.
    assert cochran_limit(5, 3, 0.01) == pytest.approx(0.788, abs=6e-4)
    assert cochran_limit(5, 3, 0.05) == pytest.approx(0.684, abs=6e-4)
    assert grubbs_limit(10, 0.05) == pytest.approx(2.290, abs=6e-4)
    assert grubbs_limit(10, 0.05, two_sided=False) == pytest.approx(2.176, abs=6e-4)


def test_one_group_looked_at_is_named_as_often_as_promised() -> None:
    random = np.random.default_rng(6)
    y = random.normal(size=(40000, 6, 3))
    means = y.mean(axis=2)
    h = (means - means.mean(axis=1, keepdims=True)) / means.std(axis=1, ddof=1, keepdims=True)
    variances = y.var(axis=2, ddof=1)
    k = np.sqrt(variances / variances.mean(axis=1, keepdims=True))
    share = variances.max(axis=1) / variances.sum(axis=1)
    rates = {
        "h": (np.abs(h[:, 0]) > mandel_h_limit(6, 0.05)).mean(),
        "k": (k[:, 0] > mandel_k_limit(6, 3, 0.05)).mean(),
        "cochran": (share > cochran_limit(6, 3, 0.05)).mean(),
        "grubbs": (np.abs(h).max(axis=1) > grubbs_limit(6, 0.05)).mean(),
    }
    print(rates)
    for name, rate in rates.items():
        assert rate <= 0.054, name
        assert rate >= 0.046, name


def test_what_is_missing_is_said() -> None:
    few = consistency([1.0, 2.0, 3.0, 5.0], ["a", "a", "b", "b"])
    flat = consistency([1.0, 2.0, 1.0, 2.0, 1.0, 2.0], ["a", "a", "b", "b", "c", "c"])
    once = consistency([1.0, 2.0, 3.0, 5.0], ["a", "a", "b", "c"])
    for found, missing in ((few, "groups"), (flat, "variance"), (once, "repeats")):
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == missing
    for groups, repeats in ((1, 3), (5, 1)):
        with pytest.raises(DataError):
            cochran_limit(groups, repeats, 0.05)
    with pytest.raises(DataError):
        grubbs_limit(2, 0.05)
    for alpha in (0.0, -0.1, float("nan"), float("inf")):
        for limit in (mandel_h_limit, grubbs_limit):
            with pytest.raises(ValueError, match="alpha"):
                limit(6, alpha)
        with pytest.raises(ValueError, match="alpha"):
            mandel_k_limit(6, 3, alpha)


def test_groups_need_a_label_each() -> None:
    for groups in (["a", None, "b"], [["a"], ["b"], ["c"]], "aab", ["a", "b"]):
        with pytest.raises(DataError, match="groups"):
            consistency([1.0, 2.0, 3.0], groups)
