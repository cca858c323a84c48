"""Verdicts on items: a planted wrong key is found, and sound items are seldom accused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.credit_table import Floats
from scoring.measurement.items import item_analysis


def exam(random: np.random.Generator, n: int, k: int, slope: float = 1.0) -> Floats:
    able = random.normal(size=(n, 1))
    hard = np.linspace(-1.5, 1.0, k)
    share = 1 / (1 + np.exp(-slope * (able - hard)))
    table: Floats = (random.random((n, k)) < share).astype(np.float64)
    return table


def test_figures_are_those_of_a_plain_loop() -> None:
    table = exam(np.random.default_rng(1), 60, 6)
    for at, found in enumerate(item_analysis(table)):
        item, total = table[:, at], table.sum(axis=1)
        assert isinstance(found.difficulty, Estimate)
        assert isinstance(found.item_total, Estimate)
        assert isinstance(found.discrimination, Estimate)
        assert found.difficulty.value == item.mean()
        assert found.item_total.value == pytest.approx(np.corrcoef(item, total)[0, 1])
        assert found.discrimination.value == pytest.approx(np.corrcoef(item, total - item)[0, 1])


def test_partial_credit_has_students_interval_which_covers() -> None:
    random = np.random.default_rng(2)
    hits = 0
    for _ in range(1000):
        found = item_analysis(random.choice([0, 0.5, 1], size=(40, 1), p=[0.2, 0.3, 0.5]))[0]
        assert isinstance(found.difficulty, Estimate)
        assert found.difficulty.low is not None
        assert found.difficulty.high is not None
        hits += found.difficulty.low <= 0.65 <= found.difficulty.high
    assert 0.93 <= hits / 1000 <= 0.97


def test_a_wrong_key_is_found_by_the_answers_alone_and_by_the_options() -> None:
    random = np.random.default_rng(3)
    table = exam(random, 200, 12, 1.5)
    # The true answer is b; the key says a, which the others choose.
    picked: Any = np.where(table == 1, "a", random.choice(["b", "c"], size=table.shape))
    right = table[:, 4] == 1
    picked[:, 4] = np.where(right, "b", "a")
    table[:, 4] = 1 - table[:, 4]
    plain = item_analysis(table)
    shown = item_analysis(table, choices=picked, keys=["a"] * 12, options={5: ["a", "b", "c", "d"]})
    for found in (plain, shown):
        assert [one.item for one in found if one.verdict.code == "key_suspect"] == [5]
    assert "choose b" in shown[4].verdict.said
    assert [use.unused for use in shown[4].options] == [False, False, True, True]


def test_sound_items_and_items_without_any_relation_are_seldom_accused() -> None:
    random = np.random.default_rng(4)
    any_flag, flags, items = 0, 0, 0
    for _ in range(1000):
        found = item_analysis((random.random((50, 6)) < 0.6).astype(float))
        marked = sum(one.verdict.code == "key_suspect" for one in found)
        any_flag, flags, items = any_flag + (marked > 0), flags + marked, items + 6
    # Nothing is wrong, so each accusation is false: at most the promised rate.
    assert any_flag / 1000 <= 0.05
    assert flags / items <= 0.05


def test_forms_of_different_difficulty_do_not_make_a_false_accusation() -> None:
    random = np.random.default_rng(5)
    one, other = exam(random, 150, 5), exam(random, 150, 5)
    # The linking item is harder for the abler group, whose own items are easy.
    weak, able = (random.random(150) < 0.9).astype(float), (random.random(150) < 0.2).astype(float)
    table = np.full((300, 11), np.nan)
    table[:150, :5], table[150:, 5:10] = np.minimum(one, random.random((150, 5)) < 0.4), 1.0
    table[150:, 5:10] = np.maximum(other, random.random((150, 5)) < 0.8)
    table[:, 10] = np.concatenate((weak, able))
    forms = ["A"] * 150 + ["B"] * 150
    assert item_analysis(table)[10].verdict.code == "key_suspect"
    assert item_analysis(table, forms=forms)[10].verdict.code == "fine"


@given(st.integers(0, 999))
@settings(max_examples=15, deadline=None)
def test_order_of_persons_and_items_does_not_matter(seed: int) -> None:
    random = np.random.default_rng(seed)
    table = exam(random, 30, 4)
    table[random.random(table.shape) < 0.1] = np.nan
    rows, columns = random.permutation(30), random.permutation(4)
    one = item_analysis(table)
    other = item_analysis(table[rows][:, columns])
    for at, place in enumerate(columns):
        mine, theirs = one[place], other[at]
        assert mine.verdict.code == theirs.verdict.code
        assert mine.verdict.probability == pytest.approx(theirs.verdict.probability)
        if isinstance(mine.discrimination, Estimate):
            assert isinstance(theirs.discrimination, Estimate)
            assert mine.discrimination.value == pytest.approx(theirs.discrimination.value)


@pytest.mark.parametrize(
    ("table", "code"),
    [
        (np.array([[1.0]]), "too_little_evidence"),
        (np.array([[1.0, 0.0]]), "too_little_evidence"),
        (np.empty((0, 2)), "too_little_evidence"),
        (np.full((30, 2), np.nan), "too_little_evidence"),
        (np.ones((30, 3)), "too_easy"),
        (np.zeros((30, 3)), "too_hard"),
        (np.full((30, 2), 0.5), "too_little_evidence"),
        (np.ones((30, 1)), "too_easy"),
    ],
)
def test_degenerate_tables_get_a_sentence(table: Floats, code: str) -> None:
    for found in item_analysis(table):
        assert found.verdict.code == code
        assert found.verdict.said.endswith(".")
        assert isinstance(found.discrimination, TooLittleEvidence)


def test_faults_are_named() -> None:
    with pytest.raises(DataError, match="person 2, item 1"):
        item_analysis([[1, 0], [2, 0]])
    with pytest.raises(ValueError, match="keys"):
        item_analysis([[1, 0]], choices=[["a", "b"]])
    with pytest.raises(DataError):
        item_analysis([[1, 0]], choices=[["a"]], keys=["a", "b"])
    with pytest.raises(DataError):
        item_analysis([[1, 0]], choices=[["a", "b"]], keys={1: "a"})
    assert item_analysis(np.empty((5, 0))) == []
