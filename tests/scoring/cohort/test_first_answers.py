from __future__ import annotations

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.cohort.first_answers import first_answers, levelled
from tests.scoring.cohort.made import sitting, tabulate


def test_the_first_answer_of_a_person_counts_and_a_missing_one_does_not() -> None:
    one = sitting("OP-101", "form_v1", {"brush": [1.0, None]}, name="sitting-one-a")
    again = sitting("OP-101", "form_v1", {"brush": [0.0, 0.0]}, name="sitting-one-b")
    (part,) = first_answers(tabulate([one, again]))
    assert part.credit.loc["OP-101"].tolist() == [1.0, 0.0]
    assert part.critical == {"form_v1-brush/d0"}
    assert part.right.loc["OP-101"].tolist() == [1.0, 0.0]


def test_nobody_gives_no_table() -> None:
    assert first_answers(tabulate([])) == ()


def test_people_on_a_hard_form_are_not_taken_for_weak_people() -> None:
    """Alike people, half on an easy and half on a hard form, two decisions common to both."""
    rng = np.random.default_rng(3)
    easy, hard = np.full(6, 0.9), np.full(6, 0.3)
    rows = np.full((400, 14), np.nan)
    rows[:200, :6] = rng.random((200, 6)) < easy
    rows[200:, 6:12] = rng.random((200, 6)) < hard
    rows[:, 12:] = rng.random((400, 2)) < 0.6
    level = levelled(pd.DataFrame(rows)).mean(axis=1)
    plain = pd.DataFrame(rows).mean(axis=1)
    # The two common decisions tie the forms; their chance alone moves the difference by 0.04.
    assert abs(level[:200].mean() - level[200:].mean()) < 0.12
    assert plain[:200].mean() - plain[200:].mean() > 0.4


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 12), st.integers(2, 8))
def test_levelling_keeps_what_a_constant_for_each_item_cannot_change(
    seed: int, people: int, items: int
) -> None:
    rng = np.random.default_rng(seed)
    rows = pd.DataFrame(rng.random((people, items)).round(2))
    level = levelled(rows)
    assert float(level.min().min()) >= 0
    assert float(level.max().max()) <= 1
    means = level.mean()
    assert means.to_numpy() == pytest.approx(np.full(items, means.iloc[0]), abs=1e-6)
    turned = levelled(rows.iloc[::-1])
    assert turned.loc[rows.index].to_numpy() == pytest.approx(level.to_numpy(), abs=1e-6)
