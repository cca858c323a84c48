"""Names that a page may see: the ids of answers say too much, so a page gets numbered ones.

An id such as ``hand-soap`` or ``too-hot`` can hint at what is right; the page of an
exam meets ``a1``, ``a2`` … in the order shown.
"""

from __future__ import annotations

from typing import Any

from assessments.paper import Question


def question_name(question: Question) -> str:
    """Return the page's name of a decision."""
    return f"n{question.number}"


def answer_names(question: Question) -> dict[str, str]:
    """Return the page's name of each answer by its id, in the order shown."""
    order = question.instance.answer_order[question.decision.id]
    return {identifier: f"a{place}" for place, identifier in enumerate(order, start=1)}


def place_names(question: Question) -> dict[str, str]:
    """Return the page's name of each place by its id."""
    return {
        identifier: f"p{number}"
        for number, identifier in enumerate(question.instance.instrument.places, start=1)
    }


def from_page(question: Question, value: Any) -> Any:
    """Turn what the page sent into an answer's value; what is not understood stays as it is.

    The value comes from a browser and may be anything that JSON holds; whether it
    is an answer is for :func:`scoring.marking.credit.check_answer` to say.
    """
    if question.decision.kind == "quantity":
        return value
    names = place_names(question) if question.decision.kind == "mark_places" else None
    known = {name: identifier for identifier, name in (names or answer_names(question)).items()}
    if isinstance(value, str):
        return known.get(value, value)
    if isinstance(value, list):
        return tuple(known.get(each, each) if isinstance(each, str) else each for each in value)
    return value
