"""Agreement item by item, pair by pair and in total."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.agreement import (
    ItemsAgreement,
    per_item,
    percent_agreement,
    rater_pairs,
)
from scoring.variation.intervals import wilson

Lines = list[tuple[int, str, str, Any]]


def checklist(units: int, seed: int, wrong: dict[str, float]) -> Lines:
    """Two raters' ratings; on each item the second differs in a given share of units."""
    draw = random.Random(seed)  # noqa: S311  (an example, no secret)
    lines: Lines = []
    for unit in range(units):
        for item, share in wrong.items():
            first = int(draw.random() < 0.8)
            lines += [
                (unit, "A", item, first),
                (unit, "B", item, 1 - first if draw.random() < share else first),
            ]
    return lines


def of(lines: Lines, **how: Any) -> ItemsAgreement:
    found = per_item(*zip(*lines, strict=True), **how)
    assert isinstance(found, ItemsAgreement)
    return found


def test_the_bad_item_comes_first_and_the_total_says_that_it_hides_it() -> None:
    lines = checklist(60, 1, {"soak": 0.03, "rinse": 0.4, "brush": 0.05, "look": 0.0})
    found = of(lines)
    assert found.items[0].item == "rinse"
    assert isinstance(found.agreement, Estimate)
    assert found.agreement.value > 0.8
    assert found.agreement.n == 60
    assert isinstance(found.items[0].agreement, Estimate)
    assert found.items[0].agreement.high is not None
    assert found.items[0].agreement.high < found.agreement.value
    assert "rinse" in found.said
    values = [one.agreement.value for one in found.items if isinstance(one.agreement, Estimate)]
    assert values == sorted(values)
    mixed = lines.copy()
    random.Random(2).shuffle(mixed)  # noqa: S311
    assert of(mixed) == found


def test_agreement_is_counted_pair_by_pair() -> None:
    found = of(checklist(30, 4, {"soak": 0.2, "rinse": 0.1}))
    lines = checklist(30, 4, {"soak": 0.2, "rinse": 0.1})
    same = {"soak": 0, "rinse": 0}
    for (_, _, item, one), (_, _, _, other) in zip(lines[::2], lines[1::2], strict=True):
        same[item] += one == other
    for item in found.items:
        assert isinstance(item.agreement, Estimate)
        assert item.agreement.value == pytest.approx(same[str(item.item)] / 30)
        expected = wilson(same[str(item.item)], 30)
        assert item.agreement.low == pytest.approx(expected.low)
        assert item.agreement.high == pytest.approx(expected.high)
    assert isinstance(found.agreement, Estimate)
    assert found.agreement.value == pytest.approx(sum(same.values()) / 60)


def test_total_rests_on_units_not_on_ratings() -> None:
    """Ten items that are one and the same say no more than that one item."""
    one = checklist(40, 6, {"a": 0.2})
    copied = [(u, r, f"{i}{n}", v) for n in range(10) for u, r, i, v in one]
    single, tenfold = of(one), of(copied)
    assert isinstance(single.agreement, Estimate)
    assert isinstance(tenfold.agreement, Estimate)
    assert tenfold.agreement.value == pytest.approx(single.agreement.value)
    assert tenfold.agreement.low == pytest.approx(single.agreement.low, abs=0.01)


def test_items_without_evidence_come_last_and_are_told() -> None:
    lines = [*checklist(20, 7, {"a": 0.1}), (1, "A", "b", 1), (2, "B", "b", None)]
    found = of(lines)
    assert found.items[-1].item == "b"
    assert isinstance(found.items[-1].agreement, TooLittleEvidence)
    assert "1 items" in found.said
    alone = of([(1, "A", "x", 1), (2, "A", "x", 0)])
    assert isinstance(alone.agreement, TooLittleEvidence)
    assert "nothing is known" in alone.said
    assert isinstance(per_item([], [], [], []), TooLittleEvidence)
    assert isinstance(per_item([1], ["A"], ["x"], [None]), TooLittleEvidence)


def test_faults_in_the_data_are_told() -> None:
    with pytest.raises(DataError, match="lengths"):
        per_item([1], ["A", "B"], ["x"], [1])
    with pytest.raises(DataError):
        per_item([1, 1], ["A", "A"], ["x", "x"], [1, 0])
    with pytest.raises(DataError):
        per_item([1, 1], ["A", "B"], ["x", "x"], [1, 5], categories=(0, 1))


def test_who_disagrees_with_whom() -> None:
    generator = np.random.default_rng(3)
    first = generator.integers(0, 2, 50)
    table = np.column_stack([first, first, 1 - first])
    found = rater_pairs(table)
    assert not isinstance(found, TooLittleEvidence)
    assert {(one.first, one.second) for one in found[:2]} == {(0, 2), (1, 2)}
    assert (found[-1].first, found[-1].second) == (0, 1)
    assert isinstance(rater_pairs([[1], [0]]), TooLittleEvidence)
    apart = rater_pairs([[1, None], [0, None], [None, 1]])
    assert not isinstance(apart, TooLittleEvidence)
    assert isinstance(apart[0].agreement, TooLittleEvidence)
    assert isinstance(apart[0].kappa, TooLittleEvidence)


@given(st.lists(st.lists(st.sampled_from([0, 1, None]), min_size=3, max_size=3), min_size=4))
def test_percent_agreement_stays_on_its_scale(table: list[list[Any]]) -> None:
    found = percent_agreement(table)
    if isinstance(found, Estimate):
        assert found.low is not None
        assert found.high is not None
        assert 0 <= found.low <= found.value <= found.high <= 1


def test_agreement_of_three_raters_covers() -> None:
    generator = np.random.default_rng(9)
    right = 0.9
    truth = right**2 + (1 - right) ** 2
    covered = []
    for _ in range(1000):
        found = percent_agreement((generator.random((40, 3)) < right).astype(int))
        assert isinstance(found, Estimate)
        assert found.low is not None
        assert found.high is not None
        covered.append(found.low <= truth <= found.high)
    assert 0.93 <= np.mean(covered) <= 0.97
