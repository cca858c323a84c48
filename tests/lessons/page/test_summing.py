"""The summary: strengths, weak spots, what next, and how sure a share is."""

from __future__ import annotations

from pathlib import Path

from lessons import DEFAULT_SITE, lesson_library
from lessons.page.done_before import DoneBefore
from lessons.page.interface import interface
from lessons.page.practice import new_practice
from lessons.page.summing import MOST_TO_PRACTISE, practise_next, reached, share_line, weak_spots
from scoring.marking.marks import StationResult
from scoring.marking.right import right_answer
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

LIBRARY = lesson_library()
SITE = read_yaml(DEFAULT_SITE, SiteValues)


def test_who_does_all_right_is_told_so_and_shown_something_new(tmp_path: Path) -> None:
    practice = new_practice(
        Settings(tmp_path, DEFAULT_SITE), LIBRARY, SITE, "OP-017", "soak-clamp-dried"
    )
    for decision in practice.scenario.decisions:
        practice.answer(right_answer(decision, practice.instance), 1.0)
    marks = practice.marks()
    assert marks.complete
    assert [mark.credit for mark in marks.decisions] == [1.0] * len(marks.decisions)
    found = practise_next(practice, marks, LIBRARY, DoneBefore(), interface("en"), "en")
    assert [item["id"] for item in found] == ["soak-suction-air"]


def test_who_misses_much_gets_a_short_list_that_starts_with_this_one(tmp_path: Path) -> None:
    practice = new_practice(
        Settings(tmp_path, DEFAULT_SITE), LIBRARY, SITE, "OP-017", "soak-clamp-dried"
    )
    practice.answer("disinfectant", 1.0)
    found = practise_next(practice, practice.marks(), LIBRARY, DoneBefore(), interface("en"), "en")
    assert found[0]["id"] == "soak-clamp-dried"
    assert len(found) <= MOST_TO_PRACTISE
    assert len({item["id"] for item in found}) == len(found)


def test_a_weak_spot_says_the_right_answer_and_a_mistake_names_itself(tmp_path: Path) -> None:
    practice = new_practice(
        Settings(tmp_path, DEFAULT_SITE), LIBRARY, SITE, "OP-017", "soak-clamp-dried"
    )
    practice.answer("disinfectant", 1.0)
    marks, words = practice.marks(), LIBRARY.words("soak-clamp-dried", "en")
    first = weak_spots(practice, marks, words, interface("en"), "en")[0]
    assert first["text"] == "What do you put into the water?"
    assert first["then"].startswith("Right: The instrument cleaner of this department")
    assert reached(marks, interface("en")) == [
        "A disinfectant used as the cleaner. Proteins fixed to the surface; soil shields"
        " organisms. This can reach a patient."
    ]


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
