"""The summary: strengths, weak spots, what next, and how sure a share is."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from lessons import DEFAULT_SITE, lesson_library
from lessons.page.due import Suggestion
from lessons.page.interface import interface
from lessons.page.practice import Practice, new_practice
from lessons.page.summing import ended, practise_next, reached, share_line, weak_spots, week_line
from lessons.page.weeks import weeks_of
from scoring.marking.marks import StationResult
from scoring.marking.right import right_answer
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.lessons.page.test_due import MORNING, SOAK, played

LIBRARY = lesson_library()
SITE = read_yaml(DEFAULT_SITE, SiteValues)


def practice_of(records: Path, *, wrong: str = "") -> Practice:
    """The dried clamp played to its end, all right but for a disinfectant when `wrong` says so."""
    practice = new_practice(Settings(records, DEFAULT_SITE), LIBRARY, SITE, "OP-017", SOAK)
    for decision in practice.scenario.decisions:
        right = right_answer(decision, practice.instance)
        practice.answer(wrong if wrong and decision.id == "agent" else right, 1.0)
    return practice


def test_who_does_all_right_ends_within_the_limits(tmp_path: Path) -> None:
    practice = practice_of(tmp_path)
    assert [mark.credit for mark in practice.marks().decisions] == [1.0] * len(practice.answers)
    said = ended(practice, interface("en"), "en")
    assert said.startswith("If the rest of the work is done by the book")
    assert SITE.name in said


def test_what_would_reach_the_patient_is_computed_and_named_with_its_limit(tmp_path: Path) -> None:
    said = ended(practice_of(tmp_path, wrong="disinfectant"), interface("en"), "en")
    assert said.startswith("Even if the rest of the work is done by the book, this is left: ")
    assert f"(limit: {SITE.limits.protein_ug_per_cm2:g} µg/cm²)" in said


def test_a_suggestion_says_its_topic_its_date_and_where_it_is() -> None:
    found = [
        Suggestion(LIBRARY.scenario(SOAK), "dose", MORNING),
        Suggestion(LIBRARY.scenario("rinse-suction-hurry"), None, None),
    ]
    lines = practise_next(found, LIBRARY, "soak", interface("en"), "en")
    date = f"{MORNING.astimezone():%Y-%m-%d}"
    assert lines[0]["why"] == f"It trains the dose. That was not fully right on {date}."
    assert lines[1]["why"] == "You have not done it yet. Station: Rinsing."
    assert [line["id"] for line in lines] == [SOAK, "rinse-suction-hurry"]


def test_a_week_says_share_interval_and_number() -> None:
    (week,) = weeks_of([played(SOAK, MORNING, ("dose",))], "soak")
    line = week_line(week, interface("en"))
    assert line["station"] == "Week of 2026-03-02"
    assert f"1 played, {line['n']} answers" in line["said"]
    assert line["low"] < line["share"] < line["high"]


def test_a_weak_spot_says_the_right_answer_and_a_mistake_names_itself(tmp_path: Path) -> None:
    practice = new_practice(
        Settings(tmp_path, DEFAULT_SITE), LIBRARY, SITE, "OP-017", "soak-clamp-dried"
    )
    practice.answer("disinfectant", 1.0)
    marks, words = practice.marks(), LIBRARY.words("soak-clamp-dried", "en")
    first = weak_spots(practice, marks, words, interface("en"), "en")[0]
    assert first["text"] == "What do you put into the water?"
    assert first["then"].startswith("Right: The instrument cleaner of this department")
    assert reached(marks, SITE, interface("en")) == [
        "A disinfectant used as the cleaner. Protein is fixed to the surface; soil shields the"
        " germs under it. This can reach a patient."
    ]


def test_the_departments_own_severity_decides_what_is_told_first() -> None:
    marks = played(SOAK, MORNING).marks
    made = dataclasses.replace(
        marks, decisions=(dataclasses.replace(marks.decisions[0], mistakes=("M06", "M21")),)
    )
    disinfectant, volume = reached(made, SITE, interface("en"))
    assert disinfectant.startswith("A disinfectant used as the cleaner")
    other = SITE.model_copy(update={"severity": {"M06": 1, "M21": 4}})
    assert reached(made, other, interface("en")) == [volume, disinfectant]


def result(low: float, high: float, decisions: int) -> StationResult:
    return StationResult("soak", "not yet", 6, 10, 0.6, low, high, decisions, 0)


def test_a_wide_interval_is_called_too_little_evidence() -> None:
    say = interface("en")
    assert "Too little evidence" in share_line(result(0.3, 0.85, 6), say)["said"]
    assert "Too little evidence" not in share_line(result(0.5, 0.7, 90), say)["said"]


def test_no_answer_is_not_assessed_and_has_no_interval() -> None:
    line = share_line(result(0.0, 1.0, 0), interface("en"))
    assert line["said"].startswith("Not assessed")
    assert line["low"] is None
