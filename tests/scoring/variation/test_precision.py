"""Repeatability and reproducibility against plain sums, known truths and coverage."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.precision import Precision, precision

GROUPS = {"a": [4.1, 4.4, 4.0], "b": [5.2, 5.0], "c": [4.6, 4.9, 4.5, 4.4], "d": [4.0, 4.3]}


def laid(groups: dict[str, list[float]]) -> tuple[list[float], list[str]]:
    return [v for held in groups.values() for v in held], [
        g for g, held in groups.items() for _ in held
    ]


def told(groups: dict[str, list[float]]) -> Precision:
    found = precision(*laid(groups))
    assert isinstance(found, Precision)
    return found


def test_unequal_cells_give_the_standard_s_sums() -> None:
    p = len(GROUPS)
    ns = [len(held) for held in GROUPS.values()]
    n = sum(ns)
    inner = sum(
        (k - 1) * statistics.variance(h) for k, h in zip(ns, GROUPS.values(), strict=True)
    ) / (n - p)
    grand = sum(sum(h) for h in GROUPS.values()) / n
    outer = sum(
        k * (statistics.mean(h) - grand) ** 2 for k, h in zip(ns, GROUPS.values(), strict=True)
    ) / (p - 1)
    usual = (n - sum(k * k for k in ns) / n) / (p - 1)
    between = (outer - inner) / usual
    found = told(GROUPS)
    assert found.mean == pytest.approx(grand)
    assert found.repeatability_sd.value == pytest.approx(math.sqrt(inner))
    assert found.between_sd.value == pytest.approx(math.sqrt(between))
    assert found.reproducibility_sd.value == pytest.approx(math.sqrt(inner + between))
    assert found.repeatability_limit.value == pytest.approx(2.8 * math.sqrt(inner))
    assert found.reproducibility_limit.value == pytest.approx(2.8 * math.sqrt(inner + between))
    ends = [(n - p) * inner / stats.chi2(n - p).ppf(q) for q in (0.975, 0.025)]
    assert (found.repeatability_sd.low, found.repeatability_sd.high) == pytest.approx(
        tuple(map(math.sqrt, ends))
    )


def test_groups_that_agree_have_no_variance_between() -> None:
    found = told({"a": [1.0, 2.0], "b": [2.0, 1.0], "c": [1.0, 2.0]})
    assert found.between_sd.value == 0.0
    assert found.reproducibility_sd.value == found.repeatability_sd.value


@pytest.mark.parametrize("counts", [[3] * 8, [2, 2, 3, 3, 5, 6, 2, 4, 3, 2]])
def test_intervals_cover(counts: list[int]) -> None:
    random = np.random.default_rng(4)
    code = np.repeat(np.arange(len(counts)), counts)
    wanted = {"repeatability_sd": 1.0, "between_sd": 0.8, "reproducibility_sd": math.sqrt(1.64)}
    hits = dict.fromkeys(wanted, 0)
    for _ in range(1000):
        y = 0.8 * random.normal(size=len(counts))[code] + random.normal(size=len(code))
        found = precision(y, code.tolist())
        assert isinstance(found, Precision)
        for name, truth in wanted.items():
            told_of = getattr(found, name)
            hits[name] += told_of.low <= truth <= told_of.high
    print({name: count / 1000 for name, count in hits.items()})
    for count in hits.values():
        assert 930 <= count <= 972


def test_shift_scale_order_and_names_do_not_matter() -> None:
    plain = told(GROUPS)
    other = told(
        {f"z{name}": [10 + 2 * v for v in held[::-1]] for name, held in [*GROUPS.items()][::-1]}
    )
    for name in ("repeatability_sd", "between_sd", "reproducibility_sd"):
        one, two = getattr(plain, name), getattr(other, name)
        assert (two.value, two.low, two.high) == pytest.approx(
            (2 * one.value, 2 * one.low, 2 * one.high)
        )


def test_what_is_missing_is_said() -> None:
    for values, groups in (
        ([1.0, 2.0], ["a", "a"]),
        ([1.0, 2.0], ["a", "b"]),
        ([1.0, 1.0, 2.0], ["a", "a", "b"]),
    ):
        found = precision(values, groups)
        assert isinstance(found, TooLittleEvidence)
    with pytest.raises(DataError):
        precision([1.0, float("nan")], ["a", "b"])
