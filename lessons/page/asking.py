"""A decision as a screen: asked in the course of a practice, or once more in a what-if."""

from __future__ import annotations

from collections.abc import Mapping

from lessons.page import screens, told
from lessons.page.around import Around
from lessons.page.compared import picture_at
from lessons.page.practice import Practice
from lessons.page.screens import Frame, Screen
from scoring.wording import fill_words
from scoring.words import Words


def question(
    around: Around,
    practice: Practice,
    words: Words,
    frame: Frame,
    number: int,
    *,
    label: str,
    hint: Mapping[str, str] | None = None,
    given: str = "",
) -> Screen:
    """Ask one decision of a practice, at the moment at which it is met.

    Parameters
    ----------
    around : Around
    practice : Practice
        It must have come as far as this decision.
    words : Words
        Of its scenario.
    frame : Frame
        What stands around the question.
    number : int
        Place of the decision, from 0.
    label : str
        Words of the button.
    hint : mapping, optional
        The offer of a hint, or the hint.
    given : str
        What was answered before, where the decision is asked once more.
    """
    instance = practice.instance
    asked = practice.scenario.decisions[number]
    said = words.decisions[asked.id]
    marking = asked.kind == "mark_places"
    return screens.decision(
        frame,
        id=asked.id,
        number=number + 1,
        total=len(practice.scenario.decisions),
        control=asked.kind,
        question=fill_words(said.question, instance),
        situation=fill_words(words.situation, instance),
        answers=told.answers_offered(instance, asked, said),
        units=asked.units if asked.kind == "quantity" else (),
        spots=(
            told.spots_offered(instance, practice.moments[number], around.language)
            if marking
            else ()
        ),
        picture=picture_at(practice, number, around.words.say("as_met"), around.language),
        hint=hint,
        given=given,
        label=label,
    )
