"""Intervals against published values, and by hand."""

from __future__ import annotations

import csv
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.marking.interval import effective_number, standard_error, wilson
from tests.scoring.small import DATA

with (DATA / "published" / "cc_binomial_intervals_newcombe1998.csv").open(
    encoding="utf-8", newline=""
) as _file:
    PUBLISHED = [row for row in csv.DictReader(_file) if row["method"] == "Wilson"]
"""Newcombe 1998, Stat Med 17:857-872, Table I: four of its cases, two-sided 95 %. Status: read in
public package data that quotes the table, not in the paper; computed values beside them."""


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"{row['x']} of {row['n']}")
def test_wilson_is_newcombes_table(row: dict[str, str]) -> None:
    right, number = int(row["x"]), int(row["n"])
    low, high = wilson(right / number, number)
    assert round(low, 4) == float(row["pub_lo"])
    assert high == pytest.approx(float(row["pub_hi"]), abs=0.5e-4 + 1e-9)
    assert low == pytest.approx(float(row["comp_lo"]), abs=1e-12)
    assert high == pytest.approx(float(row["comp_hi"]), abs=1e-12)


@given(st.floats(0, 1), st.floats(0.1, 1e6))
def test_wilson_holds_its_share_and_stays_inside(share: float, number: float) -> None:
    low, high = wilson(share, number)
    assert 0.0 <= low <= share + 1e-12
    assert share - 1e-12 <= high <= 1.0


@given(st.floats(0, 1), st.floats(0.1, 1e5))
def test_more_decisions_never_widen(share: float, number: float) -> None:
    few, many = wilson(share, number), wilson(share, number * 2)
    assert many[1] - many[0] <= few[1] - few[0] + 1e-12


def test_no_decision_tells_nothing() -> None:
    assert wilson(0.0, 0.0) == (0.0, 1.0)
    assert effective_number([]) == 0.0


@given(st.integers(1, 50), st.floats(0.1, 10))
def test_equal_weights_count_as_many_as_they_are(number: int, weight: float) -> None:
    assert effective_number([weight] * number) == pytest.approx(number)


@given(st.lists(st.floats(0.1, 10), min_size=1, max_size=30))
def test_unequal_weights_count_less(weights: list[float]) -> None:
    assert 1.0 - 1e-9 <= effective_number(weights) <= len(weights) + 1e-9


def test_effective_number_by_hand() -> None:
    assert effective_number([2, 1, 1]) == pytest.approx(16 / 6)


def test_standard_error_is_lords_by_hand() -> None:
    # 16 of 20 right: raw-score error sqrt(x (n - x) / (n - 1)) = sqrt(16 * 4 / 19), over n.
    assert standard_error(0.8, 20) == pytest.approx(math.sqrt(16 * 4 / 19) / 20)
    assert standard_error(0.5, 101) == pytest.approx(0.05)


def test_a_faultless_score_is_not_without_error() -> None:
    assert standard_error(1.0, 10) == pytest.approx(math.sqrt(0.95 * 0.05 / 9))
    assert standard_error(1.0, 10) == pytest.approx(standard_error(0.0, 10))
    assert standard_error(1.0, 1.0) == math.inf
