"""Flags: q values against statsmodels and by definition, promises by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom
from statsmodels.stats.multitest import multipletests

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.false_discovery import (
    Flags,
    adjusted_p,
    flag,
    flag_counts,
    flag_probabilities,
)

P_VALUES = st.lists(st.one_of(st.floats(0, 1), st.floats(0, 0.02)), min_size=1, max_size=40)


def made(found: object) -> Flags:
    assert isinstance(found, Flags)
    return found


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [("bh", "fdr_bh"), ("by", "fdr_by"), ("holm", "holm"), ("bonferroni", "bonferroni")],
)
@given(p=P_VALUES)
def test_agrees_with_statsmodels(ours: str, theirs: str, p: list[float]) -> None:
    expected = multipletests(p, method=theirs)[1]
    assert adjusted_p(p, ours) == pytest.approx(expected, abs=1e-12)  # type: ignore[arg-type]


@given(P_VALUES, st.floats(0.01, 0.4))
def test_flagged_are_those_of_the_step_up_rule(p: list[float], rate: float) -> None:
    found = made(flag(p, rate=rate))
    ordered = sorted(p)
    last = max(
        (k for k in range(1, len(p) + 1) if ordered[k - 1] <= k * rate / len(p) - 1e-12), default=0
    )
    expected = sum(value <= ordered[last - 1] for value in p) if last else 0
    assert len(found.flagged) >= expected
    near = any(abs(ordered[k - 1] - k * rate / len(p)) < 1e-9 for k in range(1, len(p) + 1))
    assert near or len(found.flagged) == expected


@given(P_VALUES.flatmap(lambda p: st.tuples(st.just(p), st.permutations(range(len(p))))))
def test_order_changes_nothing(pair: tuple[list[float], list[int]]) -> None:
    p, order = pair
    names = [f"op{at}" for at in range(len(p))]
    one = made(flag(p, names))
    other = made(flag([p[at] for at in order], [names[at] for at in order]))
    assert other == one


def test_storey_is_between() -> None:
    p = [0.001, 0.01, 0.02, 0.03, 0.2, 0.6]
    bh, storey = adjusted_p(p), adjusted_p(p, "storey")
    # One of six is above one half: (1 + 1) / (6 / 2) of them are taken to be chance.
    assert storey == pytest.approx(bh * 2 / 3)
    assert adjusted_p([0.6, 0.9], "storey") == pytest.approx(adjusted_p([0.6, 0.9]))


@pytest.mark.parametrize("method", ["bh", "by", "storey", "bonferroni", "holm"])
def test_the_share_of_false_flags_is_kept(method: str) -> None:
    generator = np.random.default_rng(31)
    truly = np.arange(40) < 10
    shares = []
    for _ in range(1000):
        z = generator.standard_normal(40) + 3.0 * truly
        q = adjusted_p([0.5 * math.erfc(value / math.sqrt(2)) for value in z], method)  # type: ignore[arg-type]
        flagged = q <= 0.1
        shares.append((flagged & ~truly).sum() / max(1, flagged.sum()))
    assert np.mean(shares) <= 0.1 + 3 * np.std(shares) / math.sqrt(1000)


def test_nobody_is_flagged_by_chance_more_often_than_promised() -> None:
    generator = np.random.default_rng(32)
    n = generator.integers(5, 60, 48)
    any_flag = [
        bool(made(flag_counts(generator.binomial(n, 0.1), n, 0.1)).flagged) for _ in range(200)
    ]
    assert np.mean(any_flag) <= 0.1 + 3 * math.sqrt(0.09 / 200)


def test_too_few_answers_to_be_flagged_at_all() -> None:
    found = made(flag_counts([0, 1, 2, 15, 3], [0, 1, 2, 20, 40], 0.2, list("abcde")))
    outcomes = {each.label: each.outcome for each in found.flags}
    assert outcomes == {
        "a": "too little evidence",
        "b": "too little evidence",
        "c": "flagged",
        "d": "flagged",
        "e": "not flagged",
    }
    little = {each.label: each.too_little for each in found.flags}
    assert little["b"] is not None
    assert little["b"].n == 1
    assert found.flagged == ("c", "d")


COUNT_OF_N = st.integers(1, 12).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(
    st.lists(COUNT_OF_N, min_size=1, max_size=12), st.sampled_from(["bh", "by", "holm", "storey"])
)
@settings(max_examples=20)
def test_too_little_means_that_the_worst_result_would_not_be_flagged(
    pairs: list[tuple[int, int]], method: str
) -> None:
    events, n = (list(column) for column in zip(*pairs, strict=True))
    found = made(flag_counts(events, n, 0.3, method=method))  # type: ignore[arg-type]
    for at, each in enumerate(found.flags):
        if each.outcome == "flagged":
            continue
        worst = [n[at] if place == at else count for place, count in enumerate(events)]
        then = made(flag_counts(worst, n, 0.3, method=method)).flags[at].outcome  # type: ignore[arg-type]
        assert (each.outcome == "too little evidence") == (then != "flagged")


def test_sides() -> None:
    above, below, two = (
        made(flag_counts([2], [20], 0.4, side=side)).flags[0].p  # type: ignore[arg-type]
        for side in ("above", "below", "two")
    )
    assert above == pytest.approx(binom.sf(1, 20, 0.4))
    assert below == pytest.approx(binom.cdf(2, 20, 0.4))
    assert two == pytest.approx(2 * binom.cdf(2, 20, 0.4))


def test_probabilities_by_hand() -> None:
    found = made(flag_probabilities([0.99, 0.85, 0.5, None, 0.85], list("abcde")))
    q = {each.label: each.q for each in found.flags}
    assert q["a"] == pytest.approx(0.01)
    assert q["b"] == q["e"] == pytest.approx((0.01 + 0.15 + 0.15) / 3)
    assert q["c"] == pytest.approx((0.01 + 0.15 + 0.15 + 0.5) / 4)
    assert found.flags[3].outcome == "too little evidence"
    strict = made(flag_probabilities([0.99, 0.85, 0.5, None, 0.85], list("abcde"), rate=0.05))
    assert strict.flagged == ("a",)
    assert strict.expected_false == pytest.approx(0.01)
    assert strict.n == 4


def test_true_probabilities_keep_the_promise() -> None:
    generator = np.random.default_rng(33)
    false = flagged = 0.0
    for _ in range(500):
        probability = generator.beta(0.4, 0.4, 30)
        truly = generator.random(30) < probability
        found = made(flag_probabilities(probability, [f"{at:02}" for at in range(30)], rate=0.1))
        chosen = [int(label) for label in found.flagged]
        flagged += len(chosen)
        false += sum(not truly[at] for at in chosen)
    assert 0.05 < false / flagged <= 0.11


def test_nobody_with_a_result_is_too_little() -> None:
    for found in (
        flag([]), flag([math.nan]), flag_counts([0], [0], 0.2), flag_probabilities([None]),
        flag_counts([], [], 0.2),
    ):  # fmt: skip
        assert isinstance(found, TooLittleEvidence)


def test_unusable_input_is_refused() -> None:
    for data_wrong in (
        lambda: flag([1.5]), lambda: flag([0.5], ["a", "b"]), lambda: flag([0.5, 0.1], ["a", "a"]),
        lambda: flag([0.5], least_p=[0.1, 0.2]), lambda: flag([0.5], n=[1, 2]),
        lambda: flag_counts([3], [2], 0.1), lambda: flag_probabilities([-0.1]),
    ):  # fmt: skip
        with pytest.raises(DataError):
            data_wrong()
    for wrong in (
        lambda: flag([0.5], rate=0), lambda: adjusted_p([0.5], "fisher"),  # type: ignore[arg-type]
        lambda: flag_counts([1], [2], 1.0), lambda: flag_counts([1], [2], 0.1, side="both"),  # type: ignore[arg-type]
        lambda: flag_probabilities([0.5], rate=1.0),
    ):  # fmt: skip
        with pytest.raises(ValueError, match="wanted"):
            wrong()


def test_ten_thousand_people() -> None:
    generator = np.random.default_rng(34)
    n = generator.integers(1, 300, 10_000)
    found = made(flag_counts(generator.binomial(n, 0.1), n, 0.1))
    assert len(found.flags) == 10_000
    assert any(each.outcome == "too little evidence" for each in found.flags)
