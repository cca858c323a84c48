"""Playing an exam without a page: the actions that a page would send."""

from __future__ import annotations

from typing import Any

from assessments.exam import Exam
from assessments.opaque import answer_names, place_names
from assessments.paper import Question
from lessons.page.screens import Screen
from scoring.attempt import AnswerValue
from tests.assessments.trial import Chooser


def as_page(question: Question, value: AnswerValue) -> Any:
    """The value as the page would send it."""
    if question.decision.kind == "quantity":
        return value
    names = (
        place_names(question) if question.decision.kind == "mark_places" else answer_names(question)
    )
    return names[value] if isinstance(value, str) else [names[each] for each in value]


def current(exam: Exam) -> Question:
    question = exam._question
    assert question is not None
    return question


def answer(exam: Exam, choose: Chooser) -> Screen | None:
    """Answer the decision shown."""
    question = current(exam)
    value = choose(question.decision, question.instance)
    assert value is not None
    return exam.act(
        {"do": "answer", "decision": exam.screen["id"], "value": as_page(question, value)}
    )


def sign_in(exam: Exam, code: str, pin: str) -> Screen | None:
    return exam.act({"do": "sign_in", "values": {"code": code, "pin": pin}})


def play(exam: Exam, choose: Chooser, screens: list[Screen] | None = None) -> None:
    """Go on to the receipt, keeping every screen."""
    while exam.screen["kind"] != "receipt":
        if exam.screen["kind"] == "intro":
            exam.act({"do": "begin"})
        else:
            before = exam.screen
            answer(exam, choose)
            assert exam.screen != before
        if screens is not None:
            screens.append(exam.screen)
