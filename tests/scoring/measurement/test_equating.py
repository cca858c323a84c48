"""Score equivalents and equal cuts: identities, coverage, forms that share nothing."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.equating import EqualCut, concurrent, equal_cut, score_equivalents
from scoring.measurement.linking import CommonScale, Link, link, linked
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_persons import ability_at, expected_score

DIFFICULTY = np.linspace(-1.5, 1.5, 16)[np.random.default_rng(0).permutation(16)]
NAMES = [f"item {k}" for k in range(16)]
FIRST, SECOND = list(range(11)), list(range(5, 16))
NAMED = {"one": [NAMES[k] for k in FIRST], "two": [NAMES[k] for k in SECOND]}


def table(rng: np.random.Generator, taken: list[int], mean: float, n: int = 250) -> np.ndarray:
    chance = 1 / (1 + np.exp(DIFFICULTY[taken] - mean - rng.normal(size=n)[:, None]))
    return (rng.random(chance.shape) < chance).astype(float)


def test_equal_cuts_cover_the_truth_both_ways_of_linking() -> None:
    rng = np.random.default_rng(1)
    truth = float(expected_score(ability_at([7], DIFFICULTY[FIRST]), DIFFICULTY[SECOND])[0])
    at_once, moved, mean = [], [], []
    for _ in range(200):
        forms = {"one": table(rng, FIRST, 0.0), "two": table(rng, SECOND, 0.6)}
        whole = concurrent(forms, items=NAMED)
        assert isinstance(whole, RaschFit)
        base, new = (rasch(forms[name], items=NAMED[name]) for name in ("one", "two"))
        assert isinstance(base, RaschFit)
        assert isinstance(new, RaschFit)
        by = link(base, new, drift="keep")
        assert isinstance(by, Link)
        for scale, kept in ((whole, at_once), (linked(base, new, by), moved)):
            found = equal_cut(scale, NAMED["one"], NAMED["two"], 7)
            assert isinstance(found, EqualCut)
            assert found.cut.low is not None
            assert found.cut.high is not None
            kept.append(found.cut.low < truth < found.cut.high)
        second = whole.populations["two"][0]
        assert second.low is not None
        assert second.high is not None
        mean.append(second.low < 0.6 < second.high)
    # Standard error of a share of 200: 0.015.
    for kept in (at_once, moved, mean):
        assert 0.92 <= np.mean(kept) <= 0.985


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 12), st.integers(1, 12))
def test_equivalents_rise_and_come_back(seed: int, one: int, other: int) -> None:
    rng = np.random.default_rng(seed)
    first, second = rng.normal(size=one), rng.normal(size=other)
    there = score_equivalents(first, second)
    assert len(there) == one + 1
    assert there[0] == 0
    assert there[-1] == other
    assert (np.diff(there) > 0).all()
    assert score_equivalents(first, rng.permutation(first)) == pytest.approx(np.arange(one + 1))
    harder = score_equivalents(first, first + 1)
    assert (harder[1:-1] < np.arange(1, one)).all()
    if one > 1:
        back = expected_score(ability_at(there[1:-1], second), first)
        assert back == pytest.approx(np.arange(1, one), abs=1e-7)


def test_the_same_form_has_the_same_cut_without_error() -> None:
    scale = CommonScale(("a", "b", "c"), np.array([-1.0, 0.0, 1.0]), np.eye(3), 100)
    found = equal_cut(scale, ["a", "b", "c"], ["c", "b", "a"], 2)
    assert isinstance(found, EqualCut)
    assert found.whole == 2
    assert found.cut.low == pytest.approx(2.0)
    assert found.cut.high == pytest.approx(2.0)
    harder = equal_cut(scale, ["a", "b"], ["b", "c"], 1)
    assert isinstance(harder, EqualCut)
    assert harder.cut.value < 1
    assert harder.whole == 1
    assert harder.cut.low is not None
    assert harder.cut.low < harder.cut.value


def test_the_interval_is_the_delta_method() -> None:
    rng = np.random.default_rng(2)
    difficulty, spread = rng.normal(size=6), np.cov(rng.normal(size=(6, 30)) / 5)
    scale = CommonScale(tuple("abcdef"), difficulty, spread, 100)
    found = equal_cut(scale, list("abcd"), list("cdef"), 2.5)
    assert isinstance(found, EqualCut)

    def value(at: np.ndarray) -> float:
        return float(expected_score(ability_at([2.5], at[:4]), at[2:])[0])

    slope = [
        (value(difficulty + move) - value(difficulty - move)) / 2e-5 for move in 1e-5 * np.eye(6)
    ]
    half = 1.959964 * np.sqrt(np.array(slope) @ spread @ np.array(slope))
    assert found.cut.high == pytest.approx(value(difficulty) + half, abs=1e-5)


def test_forms_that_share_nothing_say_so_unless_persons_were_drawn_at_random() -> None:
    rng = np.random.default_rng(3)
    forms = {
        "one": pd.DataFrame(table(rng, FIRST[:5], 0.0), columns=NAMES[:5]),
        "two": pd.DataFrame(table(rng, SECOND, 0.0), columns=NAMED["two"]),
    }
    found = concurrent(forms)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == "common items"
    fit = concurrent(forms, randomly_equivalent=True)
    assert isinstance(fit, RaschFit)
    assert len(fit.items) == 16
    absent = equal_cut(fit, NAMES[:5], ["nowhere"], 3)
    assert isinstance(absent, TooLittleEvidence)
    assert "nowhere" in absent.said


def test_refusals() -> None:
    scale = CommonScale(("a", "b"), np.zeros(2), np.eye(2), 9)
    for cut in (0, 2, -1, float("nan")):
        with pytest.raises(DataError, match="cut"):
            equal_cut(scale, ["a", "b"], ["a"], cut)
    assert isinstance(equal_cut(scale, ["a", "b"], [], 1), TooLittleEvidence)
    with pytest.raises(DataError, match="at least one form"):
        concurrent({})
    with pytest.raises(DataError, match="without names"):
        concurrent({"one": [[1, 0]]})
    with pytest.raises(DataError, match="finite"):
        score_equivalents([], [0.0])
    with pytest.raises(DataError, match="finite"):
        score_equivalents([0.0], [np.nan])
