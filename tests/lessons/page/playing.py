"""Playing a lesson without a page: some answer that fits, whatever the decision."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lessons import DEFAULT_SITE, lesson_library
from lessons.page.lesson import Lesson
from scoring.model import Station
from scoring.settings import Settings

Screen = dict[str, Any]

LIBRARY = lesson_library()
"""Read once: the files do not change while tests run."""


def new_lesson(records: Path, station: Station = "soak", site: Path = DEFAULT_SITE) -> Lesson:
    return Lesson(Settings(records, site), station, LIBRARY, home="/")


def do(lesson: Lesson, done: str, **more: Any) -> Screen:
    screen = lesson.handle({"do": done, **more})
    assert screen is not None
    return screen


def begin(lesson: Lesson, operator: str = "OP-017", scenario: str = "") -> Screen:
    """Sign in, choose, and leave the introduction behind."""
    chosen = do(lesson, "sign_in", values={"operator": operator})
    assert chosen["kind"] == "choose"
    shown = do(lesson, "choose", id=scenario or chosen["items"][0]["id"])
    assert shown["kind"] == "intro"
    return do(lesson, "begin")


def some_answer(screen: Screen, pick: int = 0) -> Any:
    """Return an answer that fits the decision on `screen`."""
    ids = [answer["id"] for answer in screen["answers"]]
    if screen["control"] == "choose_one":
        return ids[pick % len(ids)]
    if screen["control"] == "choose_several":
        return ids[: 1 + pick % len(ids)]
    if screen["control"] == "order":
        return ids[pick % len(ids) :] + ids[: pick % len(ids)]
    if screen["control"] == "quantity":
        return {"amount": 3, "unit": screen["units"][0]["id"]}
    return [spot["place"] for spot in screen["spots"][: pick % len(screen["spots"])]]


def answer(lesson: Lesson, screen: Screen, pick: int = 0) -> Screen:
    return do(lesson, "answer", decision=screen["id"], value=some_answer(screen, pick))


def play_on(lesson: Lesson, screen: Screen, pick: int = 0) -> Screen:
    """Answer everything that is left and return the summary."""
    while screen["kind"] == "decision":
        followed = answer(lesson, screen, pick)
        assert followed["kind"] == "consequence", followed["notice"]
        screen = do(lesson, "next")
    return screen
