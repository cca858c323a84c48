"""Counting subjects and mistakes, on the smallest library that has some of each."""

from __future__ import annotations

from scoring.catalogue import mistakes, subjects
from scoring.coverage import coverage, coverage_tables
from tests.lessons.players import LESSONS, library

LESSON = library(LESSONS).scenario("soak-suction-air")


def test_nothing_covers_nothing() -> None:
    found = coverage([])
    assert set(found.uncovered) == set(subjects())
    assert set(found.unreached) == set(mistakes())


def test_one_scenario_is_counted_by_hand() -> None:
    """`soak-suction-air`: bath, dose, time belong to the bath; air and the order to lumens."""
    found = coverage([LESSON])
    assert found.subjects["bath"] == {"soak-suction-air": 3}
    assert found.subjects["lumens"] == {"soak-suction-air": 2}
    reached = {name for name, where in found.mistakes.items() if where}
    assert reached == {"M20", "M24", "M25", "M26", "M29", "M86", "M96"}


def test_the_tables_name_what_is_missing() -> None:
    said = coverage_tables(coverage([LESSON]))
    assert "| Bone and cement | 0 | 0 | none |" in said
    assert "| M29 | Tube laid flat with air inside | soak-suction-air |" in said
    assert "| M01 |" in said.replace("nowhere |", "")
