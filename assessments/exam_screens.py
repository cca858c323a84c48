"""The screens of an exam: what is asked and never what is right.

The picture is the instrument as the scenario starts, whatever was answered: the
state after an answer would show whether it was a good one. Where soil is to be
found by looking, everybody gets the same picture under good light, and neither
its text nor its legend says where the soil is.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from assessments.exam_words import ExamWords
from assessments.opaque import answer_names, place_names, question_name
from assessments.paper import Paper, Question
from assessments.pins import WRONG_TRIES_ALLOWED
from lessons.drawing import draw, spots
from lessons.drawing.words import instrument_words
from lessons.page import screens
from lessons.page.screens import Frame, Screen
from scoring.bench.handling import Handling
from scoring.wording import fill_words

STORE = "sinkside-exam"
"""Name under which the page keeps the way back to the sitting."""

GOOD_LIGHT_LUX, GOOD_MAGNIFICATION = 1500.0, 4.0
"""Light and lens under which soil is to be found in an exam. Brighter and larger than a bare
bench, so that the screen and not the eye is never the limit. Working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Aside:
    """What a screen carries beside its content.

    Attributes
    ----------
    notice : str
        Why the last answer was not taken.
    saved : str
        That and when the last answer was saved.
    token : str or None
        The way back, for the page to keep.
    operator : str
        Whose exam this is: a tablet may be handed on by mistake.
    """

    notice: str = ""
    saved: str = ""
    token: str | None = None
    operator: str = ""


NOTHING = Aside()


def sign_in(words: ExamWords, notice: str = "", token: str | None = None) -> Screen:
    """Ask for code and PIN."""
    frame = _frame(words, words.say("sign_in_heading"), aside=Aside(notice=notice, token=token))
    fields = (
        {
            "name": "code", "label": words.say("code_label"), "hint": words.say("code_hint"),
            "pattern": "[A-Za-z]{1,4}-?[0-9]{1,6}", "inputmode": "text",
        },
        {
            "name": "pin", "label": words.say("pin_label"), "hint": words.say("pin_hint"),
            "pattern": "[0-9 ]{6,7}", "inputmode": "numeric",
        },
    )  # fmt: skip
    return screens.sign_in(
        frame, intro=words.say("sign_in_intro"), fields=fields, label=words.say("sign_in_button")
    )


def turned_away(words: ExamWords, *, locked: bool) -> Screen:
    """Say that code and PIN did not open anything; the same for every reason but the lock."""
    key = "sign_in_locked" if locked else "sign_in_wrong"
    return sign_in(words, words.say(key, allowed=WRONG_TRIES_ALLOWED))


def rules(words: ExamWords, paper: Paper, operator: str, token: str | None) -> Screen:
    """Tell the rules before the first decision."""
    return screens.intro(
        _frame(words, paper.title, aside=Aside(token=token)),
        situation=words.say(
            "rules",
            decisions=len(paper.questions),
            scenarios=paper.parts,
            minutes=paper.form.minutes,
        ),
        aims=(),
        caution="",
        minutes=words.say("rules_minutes", operator=operator),
        picture=None,
        label=words.say("begin"),
    )


def part(words: ExamWords, paper: Paper, question: Question, aside: Aside) -> Screen:
    """Tell the situation before the first decision of a part."""
    of_scenario = paper.words(question)
    heading = words.say(
        "part_heading",
        part=question.part,
        parts=paper.parts,
        title=fill_words(of_scenario.title, question.instance),
    )
    frame = _frame(
        words, heading, done=question.number - 1, total=len(paper.questions), aside=aside,
    )  # fmt: skip
    return screens.intro(
        frame,
        situation=fill_words(of_scenario.situation, question.instance),
        aims=(),
        caution=fill_words(of_scenario.caution, question.instance),
        minutes="",
        picture=_picture(words, paper, question, inspecting=False),
        label=words.say("begin_part"),
    )


def decision(words: ExamWords, paper: Paper, question: Question, aside: Aside) -> Screen:
    """Ask for one decision."""
    of_scenario = paper.words(question)
    asked = of_scenario.decisions[question.decision.id]
    instance, kind = question.instance, question.decision.kind
    inspecting = kind == "mark_places"
    total = len(paper.questions)
    frame = _frame(
        words, words.say("decision_heading", number=question.number, total=total),
        done=question.number - 1, total=total, aside=aside,
    )  # fmt: skip
    return screens.decision(
        frame,
        id=question_name(question),
        number=question.number,
        total=total,
        control=kind,
        question=fill_words(asked.question, instance),
        situation=fill_words(of_scenario.situation, instance),
        answers=[
            (name, fill_words(asked.answers[identifier], instance))
            for identifier, name in answer_names(question).items()
        ],
        units=question.decision.units if question.decision.kind == "quantity" else (),
        spots=_spots(paper, question) if inspecting else (),
        picture=_picture(words, paper, question, inspecting=inspecting),
        label=words.say("confirm"),
    )


def closing(words: ExamWords, paper: Paper, aside: Aside) -> Screen:
    """Ask to hand in."""
    total = len(paper.questions)
    return screens.intro(
        _frame(
            words, words.say("close_heading"), done=total, total=total, aside=aside,
        ),
        situation=words.say("close_text", total=total),
        aims=(),
        caution="",
        minutes="",
        picture=None,
        label=words.say("close_button"),
    )  # fmt: skip


def receipt(
    words: ExamWords, title: str, operator: str, code: str, answers: int, at: datetime.datetime
) -> Screen:
    """Give the receipt."""
    lines = words.say_all(
        "receipt_lines", title=title, operator=operator, answers=answers, time=f"{at:%H:%M}"
    )
    return screens.receipt(
        _frame(words, words.say("receipt_heading")),
        code=code,
        lines=lines,
        button=screens.button(words.say("receipt_button"), "done"),
    )


def problem(words: ExamWords, key: str, *, again: bool) -> Screen:
    """Say what is wrong: `key` names the sentence and ``<key>_remedy`` what to do."""
    label = words.say("again" if again else "sign_in_again")
    return screens.problem(
        _frame(words, words.say("problem_heading")),
        what=words.say(key),
        remedy=words.say(f"{key}_remedy"),
        button=screens.button(label, "retry" if again else "sign_out"),
    )


def _frame(
    words: ExamWords, heading: str, *, done: int = 0, total: int = 0, aside: Aside = NOTHING
) -> Frame:
    label = words.say("progress", done=done, total=total, operator=aside.operator) if total else ""
    return Frame(
        language=words.language,
        heading=heading,
        progress={"done": done, "total": total, "label": label} if total else None,
        saved=aside.saved,
        notice=aside.notice,
        store=STORE,
        token=aside.token,
    )


def _handling(question: Question, inspecting: bool) -> Handling:
    start = question.instance.handling
    if not inspecting:
        return start
    return start.changed(light_lux=GOOD_LIGHT_LUX, magnification=GOOD_MAGNIFICATION, borescope=True)


def _picture(
    words: ExamWords, paper: Paper, question: Question, *, inspecting: bool
) -> screens.Picture:
    instance = question.instance
    to_be_found = any(each.kind == "mark_places" for each in instance.scenario.decisions)
    drawn = draw(
        instance.instrument,
        instance.state,
        _handling(question, inspecting),
        title=words.say("as_inspected" if inspecting else "as_met"),
        tell_soil=not to_be_found,
        language=paper.language,
    )
    caption = words.say("caption_inspected" if inspecting else "caption_met")
    return {"svg": drawn.svg, "alt": drawn.alt, "caption": caption}


def _spots(paper: Paper, question: Question) -> list[dict[str, object]]:
    labels = instrument_words(question.instance.instrument.id, paper.language).places
    names = place_names(question)
    return [
        {
            "place": names[spot.place],
            "label": labels[spot.place],
            "x": spot.x,
            "y": spot.y,
            "r": spot.r,
        }
        for spot in spots(question.instance.instrument, _handling(question, True))
    ]
