"""Where and when: a planted habit is found, chance alone is not, however many are compared."""

from __future__ import annotations

from collections import defaultdict

import pandas as pd  # type: ignore[import-untyped]
import pytest

from scoring.catalogue import mistakes as catalogue_of_mistakes
from scoring.cohort.answers_in_time import answers_in_time
from scoring.cohort.time_findings import where_found
from scoring.cohort.where_and_when import WhereAndWhen, where_and_when
from scoring.evidence import TooLittleEvidence
from tests.scoring.cohort.timed import Timed

CATALOGUE = catalogue_of_mistakes()


def compared(made: Timed) -> WhereAndWhen:
    table = made.table()
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, WhereAndWhen)
    return found


def test_counts_and_rates_elsewhere_are_those_of_a_plain_count() -> None:
    table = Timed(operators=16, pool=2, seed=3).table()
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, WhereAndWhen)
    place = table.sittings["site"] + ", " + table.sittings["shift"]
    wrong: dict[tuple[str, str, str], int] = defaultdict(int)
    n: dict[tuple[str, str], int] = defaultdict(int)
    for at, scenario in zip(table.scenarios["at"], table.scenarios["scenario"], strict=True):
        n[place[at], scenario] += 1
    for row in table.mistakes.itertuples():
        if row.mistake == "M63":
            wrong[place[row.at], row.scenario, row.decision] += 1
    met = {(scenario, decision) for _, scenario, decision in wrong}
    for row in found.rows:
        if row.topic != "final water":
            continue
        assert row.wrong == sum(v for (where, *_), v in wrong.items() if where == row.place)
        assert row.decisions == sum(n[row.place, scenario] for scenario, _ in met)
        others = 0.0
        for scenario, decision in met:
            elsewhere = [p for p in found.places if p != row.place]
            rate = sum(wrong[p, scenario, decision] for p in elsewhere) / sum(
                n[p, scenario] for p in elsewhere
            )
            others += rate * n[row.place, scenario]
        assert row.others == pytest.approx(others / row.decisions)
        assert row.rate.low is not None
        assert row.rate.high is not None
        assert row.rate.low <= row.rate.value <= row.rate.high


def test_a_habit_of_one_shift_is_named_and_nothing_at_other_steps() -> None:
    for seed in range(5):
        found = compared(Timed(operators=48, seed=seed, habit=(("South", "early"), "rinse", 2.5)))
        named = found.named()
        assert (named[0].place, named[0].topic) == ("South, early", "final water")
        assert named[0].mistake == "M63"
        assert named[0].rate.value > 2 * named[0].others


def test_with_no_difference_few_departments_have_a_false_finding() -> None:
    """Operators differ, places do not: at most 1 in 10 departments names anything at all."""
    any_named = 0
    tried = 150
    for seed in range(tried):
        any_named += bool(compared(Timed(operators=32, months=range(8), spread=0.9,
                                         seed=1000 + seed)).named())  # fmt: skip
    # 150 at 10 %: 15, and 2.5 standard errors of that count above it.
    assert any_named <= 24


def test_one_careless_person_is_no_habit_of_the_shift() -> None:
    table = Timed(operators=24, seed=4).table()
    mine = table.mistakes["operator"] == "OP-0002"
    rows = table.scenarios["operator"] == "OP-0002"
    table.scenarios.loc[rows & (table.scenarios["station"] == "rinse"), "right"] = 0
    kept = table.mistakes[~(mine & (table.mistakes["station"] == "rinse"))]
    every = table.scenarios[rows & (table.scenarios["station"] == "rinse")]
    added = every[["sitting", "operator", "form", "at", "station", "scenario"]].assign(
        decision="d0", mistake="M63"
    )
    table = type(table)(
        table.sittings, table.scenarios, table.stations,
        pd.concat([kept, added], ignore_index=True), table.read_decisions,
    )  # fmt: skip
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, WhereAndWhen)
    assert not [row for row in found.named() if row.topic == "final water"]


def test_one_place_is_nothing_to_compare() -> None:
    table = Timed(places=(("North", "early"),)).table()
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, TooLittleEvidence)
    assert where_found(found, CATALOGUE).support == found.said


def test_places_that_share_no_scenario_are_not_compared() -> None:
    table = Timed(operators=8).table()
    north = table.scenarios["operator"].isin([f"OP-{k:04d}" for k in (1, 2, 5, 6)])
    for frame in (table.scenarios, table.mistakes):
        own = frame["operator"].isin(table.scenarios["operator"][north].unique())
        frame["scenario"] = frame["scenario"] + own.map({True: "-n", False: "-s"})
        frame["scenario"] = frame["operator"] + frame["scenario"]
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, WhereAndWhen)
    assert found.compared == 0
    assert not found.named()


def test_no_mistake_and_an_unknown_mistake_are_borne() -> None:
    table = Timed(wrong=0.0).table()
    assert where_and_when(table, answers_in_time(table), CATALOGUE).named() == ()  # type: ignore[union-attr]
    table = Timed().table()
    table.mistakes["mistake"] = "M999"
    found = where_and_when(table, answers_in_time(table), CATALOGUE)
    assert isinstance(found, WhereAndWhen)
    assert {row.topic for row in found.rows} == {""}
