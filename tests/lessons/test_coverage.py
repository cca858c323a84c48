"""What lessons and bank cover: every subject, every mistake, and READMEs that say so truly."""

from __future__ import annotations

from pathlib import Path

import pytest

from lessons.coverage import PART, covered_by, scenarios_in
from scoring.catalogue import mistakes
from scoring.coverage import coverage
from scoring.marking.credit import credit
from scoring.model import STATIONS
from scoring.readme_part import with_part
from tests.lessons.players import BANK, LESSONS, SITES, instance, library, wrong_answers

FOLDERS = (LESSONS, BANK)


def test_the_lessons_leave_no_subject_out() -> None:
    assert coverage(scenarios_in(LESSONS)).uncovered == ()


def test_there_are_lessons_enough_in_every_station() -> None:
    """Sixty in all, at least eleven a station; forty in the bank."""
    lessons = scenarios_in(LESSONS)
    assert len(lessons) >= 60
    for station in STATIONS:
        assert sum(one.station == station for one in lessons) >= 11, station
    assert len(scenarios_in(BANK)) >= 40


def test_every_mistake_can_be_made_and_is_then_named_by_the_marking() -> None:
    made = set()
    for name in library(LESSONS).scenario_ids():
        met = instance(name, SITES[0], 0)
        for decision in met.scenario.decisions:
            for value in wrong_answers(decision, met):
                made.update(credit(decision, value, met).mistakes)
    assert set(mistakes()) - made == set()


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_the_tables_in_the_readme_are_those_of_the_files(folder: Path) -> None:
    readme = (folder / "README.md").read_text(encoding="utf-8")
    assert readme == with_part(readme, PART, covered_by(folder))
