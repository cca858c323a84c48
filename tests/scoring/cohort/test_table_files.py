from __future__ import annotations

import csv
import io

import pytest

from scoring.catalogue import mistakes as catalogue
from scoring.cohort.frequent import frequent_mistakes
from scoring.cohort.outcome import station_outcomes
from scoring.cohort.step_risk import step_risks
from scoring.cohort.step_variation import step_variation
from scoring.cohort.table_files import step_sheets
from scoring.marking.marks import SittingMarks
from scoring.spreadsheet import csv_bytes
from tests.scoring.cohort.made import department, sitting, tabulate


def read(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def files(marks: list[SittingMarks]) -> dict[str, bytes]:
    table = tabulate(marks)
    sheets = step_sheets(
        station_outcomes(table),
        frequent_mistakes(table, catalogue(), {}),
        step_variation(table),
        step_risks(table, catalogue(), {}),
    )
    return {f"{sheet.name}.csv": csv_bytes(sheet.head, sheet.rows) for sheet in sheets}


def test_the_numbers_are_those_of_the_report() -> None:
    marks = department({"soak": 0.3, "brush": 1.6})
    outcomes = station_outcomes(tabulate(marks))
    found = {name: read(content) for name, content in files(marks).items()}
    assert set(found) == {
        f"{name}.csv" for name in ("steps", "decisions", "risk", "results", "scores", "mistakes")
    }
    for row, outcome in zip(found["results.csv"], outcomes, strict=True):
        assert row["step"] == outcome.station
        assert float(row["mean_share_of_points"]) == pytest.approx(outcome.mean, abs=5e-5)
        assert int(row["sittings_not_yet"]) == outcome.verdicts["not yet"]
    assert len(found["scores.csv"]) == 48
    assert {row["sittings"] for row in found["scores.csv"]} == {"4"}
    assert found["mistakes.csv"][0]["text"] == catalogue()["M20"].mistake


def test_what_is_missing_is_an_empty_cell_with_the_reason_beside_it() -> None:
    (row,) = read(files([sitting("OP-1", "f", {"soak": [1.0, 0.5]})])["steps.csv"])
    assert row["share_between_operators"] == row["low"] == row["high"] == ""
    assert row["missing"] == "Only 1 operator; at least 5 are needed."


def test_nobody_gives_heads_without_rows() -> None:
    assert all(read(content) == [] for content in files([]).values())
    assert all(content.count(b"\r\n") == 1 for content in files([]).values())
