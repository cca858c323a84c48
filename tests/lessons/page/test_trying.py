"""What if: another answer changes the end as the bench has it, and nothing on the disk."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from lessons.page import told
from lessons.page.lesson import Lesson
from scoring.marking.right import right_answer
from tests.lessons.page.playing import begin, do, new_lesson
from tests.lessons.page.test_lesson import logs
from tests.lessons.players import LESSONS, library

SOAK = "soak-clamp-dried"


def finished(records: Path, name: str = SOAK) -> tuple[Lesson, dict[str, Any]]:
    """A lesson played all right; its summary is on the page."""
    lesson = new_lesson(records, library(LESSONS).scenario(name).station)
    screen = begin(lesson, scenario=name)
    assert lesson.practice is not None
    for decision in lesson.practice.scenario.decisions:
        value = right_answer(decision, lesson.practice.instance)
        do(lesson, "answer", decision=decision.id, value=value)
        screen = do(lesson, "next")
    return lesson, screen


def test_every_decision_can_be_answered_otherwise_and_nothing_is_written(tmp_path: Path) -> None:
    lesson, summary = finished(tmp_path)
    assert "what_if" in [button["do"] for button in summary["buttons"]]
    before = lesson.practice.log.path.read_bytes() if lesson.practice else b""
    offered = do(lesson, "what_if")
    scenario = library(LESSONS).scenario(SOAK)
    assert [item["id"] for item in offered["items"]] == [one.id for one in scenario.decisions]
    assert {item["state"] for item in offered["items"]} == {"Right"}
    asked = do(lesson, "choose", id="agent")
    assert asked["kind"] == "decision"
    assert asked["hint"] is None
    assert asked["given"].startswith("You answered: ")
    shown = do(lesson, "answer", decision="agent", value="disinfectant")
    assert shown["kind"] == "what_if"
    assert shown["before"]["svg"] != shown["after"]["svg"]
    assert shown["figures"]
    assert "within the limits" in shown["then"][0]
    assert "this is left" in shown["then"][1]
    assert do(lesson, "summary") == summary
    (log,) = logs(tmp_path)
    assert lesson.practice is not None
    assert lesson.practice.log.path.read_bytes() == before
    assert [answer.value for answer in log.answers].count("disinfectant") == 0


def test_the_same_answer_again_changes_nothing(tmp_path: Path) -> None:
    lesson, _ = finished(tmp_path)
    do(lesson, "what_if")
    do(lesson, "choose", id="agent")
    assert lesson.practice is not None
    given = lesson.practice.answers[0].value
    asked = do(lesson, "answer", decision="agent", value=given)
    assert asked["kind"] == "decision"
    assert (
        asked["notice"] == "This is the answer that you gave. Choose another one to see what "
        "it changes."
    )


def test_two_ends_that_the_book_makes_alike_are_told_once(tmp_path: Path) -> None:
    lesson, _ = finished(tmp_path, "ready-suction-no-cleaner")
    do(lesson, "what_if")
    do(lesson, "choose", id="upright")
    shown = do(lesson, "answer", decision="upright", value="roll-it")
    assert len(shown["then"]) == 1
    assert shown["then"][0].startswith("Both ways, ")


def test_only_what_can_change_the_instrument_is_offered(tmp_path: Path) -> None:
    lesson, _ = finished(tmp_path, "inspect-rongeur-returned")
    offered = [item["id"] for item in do(lesson, "what_if")["items"]]
    assert offered == ["test", "round", "stiff", "rust"]


def test_an_answer_that_does_not_fit_is_told(tmp_path: Path) -> None:
    lesson, _ = finished(tmp_path)
    do(lesson, "what_if")
    do(lesson, "choose", id="dose")
    asked = do(lesson, "answer", decision="dose", value={"amount": 3})
    assert asked["kind"] == "decision"
    assert asked["notice"]


@pytest.mark.parametrize(
    "action",
    [
        {"do": "choose", "id": "no-such"},
        {"do": "answer", "decision": "agent", "value": "disinfectant"},
        {"do": "hint", "decision": "agent"},
    ],
)
def test_what_does_not_belong_here_leads_back(tmp_path: Path, action: dict[str, Any]) -> None:
    lesson, summary = finished(tmp_path)
    do(lesson, "what_if")
    shown = lesson.handle(action)
    assert shown is not None
    assert shown["kind"] in {"summary", "choose"}
    assert do(lesson, "summary")["kind"] == "summary"
    assert summary["kind"] == "summary"


def test_there_is_no_what_if_before_the_end(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson, scenario=SOAK)
    assert do(lesson, "what_if") == screen


def test_each_decision_is_asked_again_at_the_moment_at_which_it_was_met(tmp_path: Path) -> None:
    lesson, _ = finished(tmp_path)
    practice = lesson.practice
    assert practice is not None
    seen = []
    for number, decision in enumerate(practice.scenario.decisions):
        do(lesson, "what_if")
        asked = do(lesson, "choose", id=decision.id)
        met = told.picture(
            practice.instance, practice.moments[number], "", tell_soil=True, language="en"
        )
        assert drawn(asked["picture"]["svg"]) == drawn(met["svg"])
        seen.append(drawn(asked["picture"]["svg"]))
        do(lesson, "summary")
    end = told.picture(practice.instance, practice.moments[-1], "", tell_soil=True, language="en")
    assert drawn(end["svg"]) not in seen


def drawn(svg: str) -> str:
    """What can be seen of a picture: all but its words for those who do not see it."""
    return re.sub(r'aria-label="[^"]*"', "", svg)
