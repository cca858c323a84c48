from __future__ import annotations

import pytest

from scoring.cohort.table import DECISION_COLUMNS, MISTAKE_COLUMNS, STATION_COLUMNS
from tests.scoring.cohort.made import department, sitting, tabulate


def test_one_row_a_decision_a_station_and_a_mistake() -> None:
    table = tabulate([sitting("OP-1", "f", {"soak": [1.0, 0.4, 0.0], "brush": [1.0]})])
    assert list(table.decisions().columns) == list(DECISION_COLUMNS)
    assert table.decisions()["credit"].tolist() == [1.0, 0.4, 0.0, 1.0]
    assert table.stations["share"].tolist() == pytest.approx([1.4 / 3, 1.0])
    assert table.stations["finished"].tolist() == [True, True]
    assert table.mistakes["mistake"].tolist() == ["M20", "M20"]
    assert table.stations_met() == ("soak", "brush")


def test_stations_stand_in_the_order_of_the_work() -> None:
    table = tabulate([sitting("OP-1", "f", {"inspect": [1.0], "soak": [1.0], "brush": [0.5]})])
    assert table.stations_met() == ("soak", "brush", "inspect")


def test_a_station_with_an_answer_missing_does_not_count() -> None:
    table = tabulate([sitting("OP-1", "f", {"soak": [1.0, None], "brush": [1.0, 1.0]})])
    assert table.stations["finished"].tolist() == [False, True]
    assert len(table.finished("soak")) == 0
    assert table.decisions()["assessed"].tolist() == [True, False, True, True]


def test_a_sitting_never_handed_in_is_not_assessed() -> None:
    table = tabulate([sitting("OP-1", "f", {"soak": [1.0, 1.0]}, complete=False)])
    assert table.stations["verdict"].tolist() == ["not assessed"]
    assert table.stations["finished"].tolist() == [False]
    assert table.unfinished == 1


def test_nobody_gives_columns_without_rows() -> None:
    table = tabulate([])
    assert list(table.stations.columns) == list(STATION_COLUMNS)
    assert list(table.mistakes.columns) == list(MISTAKE_COLUMNS)
    assert len(table.sittings) == len(table.decisions()) == 0
    assert table.operators() == table.stations_met() == ()


def test_a_whole_department() -> None:
    table = tabulate(department({"soak": 0.3, "brush": 1.0}))
    assert len(table.sittings) == 96
    assert len(table.operators()) == 24
    assert len(table.stations) == 96 * 2
    assert len(table.decisions()) == 96 * 2 * 6
