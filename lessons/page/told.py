"""Telling answers and what they did: the words of a decision and of its consequence."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from lessons.drawing import Picture as Drawn
from lessons.drawing import draw, spots
from lessons.drawing.words import instrument_words
from lessons.page import screens
from lessons.page.catalogue_words import disputed
from lessons.page.interface import Interface
from scoring.attempt import AnswerValue
from scoring.catalogue import facts, said_basis
from scoring.instance import Instance
from scoring.marking.credit import Credit
from scoring.marking.right import right_answer as marking_right
from scoring.play import Moment
from scoring.scenario import Decision
from scoring.wording import fill_words, said_number, wording_table
from scoring.words import DecisionWords


def verdict(credit: Credit) -> screens.Verdict:
    """Return the word for an answer: unsafe before all else, then how much it earned."""
    if credit.unsafe:
        return "unsafe"
    if credit.credit >= 1:
        return "right"
    return "partly" if credit.credit > 0 else "wrong"


def still_to_find(instance: Instance, answered: int) -> bool:
    """Say whether soil is still to be found by looking, so that no text may give it away."""
    return any(
        decision.kind == "mark_places" for decision in instance.scenario.decisions[answered:]
    )


def picture(
    instance: Instance, moment: Moment, caption: str, *, tell_soil: bool, language: str
) -> screens.Picture:
    """Return the instrument as it is at this moment."""
    drawn: Drawn = draw(
        instance.instrument,
        moment.state,
        moment.handling,
        title=caption,
        tell_soil=tell_soil,
        language=language,
    )
    return {"svg": drawn.svg, "alt": drawn.alt, "caption": caption}


def answers_offered(
    instance: Instance, decision: Decision, words: DecisionWords
) -> list[tuple[str, str]]:
    """Return id and label of each answer, in this sitting's order; none for amounts and places."""
    return [
        (name, fill_words(words.answers[name], instance))
        for name in instance.answer_order[decision.id]
    ]


def spots_offered(instance: Instance, moment: Moment, language: str) -> list[Mapping[str, object]]:
    """Return where each place of the instrument can be marked, with its label."""
    labels = instrument_words(instance.instrument.id, language).places
    return [
        {"place": spot.place, "label": labels[spot.place], "x": spot.x, "y": spot.y, "r": spot.r}
        for spot in spots(instance.instrument, moment.handling)
    ]


def said_answer(
    instance: Instance,
    decision: Decision,
    words: DecisionWords,
    value: AnswerValue,
    say: Interface,
    language: str,
) -> str:
    """Return an answer in words, on one line."""
    parts = answer_parts(instance, decision, words, value, say, language)
    return (" → " if decision.kind == "order" else "; ").join(parts)


def answer_parts(
    instance: Instance,
    decision: Decision,
    words: DecisionWords,
    value: AnswerValue,
    say: Interface,
    language: str,
) -> list[str]:
    """Return an answer in words: one part for each box ticked, place marked or action ordered."""
    if isinstance(value, dict):
        unit = str(value["unit"])
        return [f"{said_number(float(value['amount']))} {screens.SHOWN_UNITS.get(unit, unit)}"]
    if isinstance(value, str):
        return [fill_words(words.answers[value], instance)]
    if decision.kind == "mark_places":
        labels = instrument_words(instance.instrument.id, language).places
        marked = [label for name, label in labels.items() if name in value]
        return [", ".join(marked) or say.say("nothing_marked")]
    return [fill_words(words.answers[name], instance) for name in value]


def right_answer(
    instance: Instance, decision: Decision, words: DecisionWords, say: Interface, language: str
) -> list[str]:
    """Return the parts of a right answer in words; practice tells it, an exam never does."""
    if decision.kind == "quantity":
        return [wording_table(instance)[f"right_{decision.id}"]]
    value = marking_right(decision, instance)
    return answer_parts(instance, decision, words, value, say, language)


def reasons(
    instance: Instance,
    decision: Decision,
    words: DecisionWords,
    value: AnswerValue,
    credit: Credit,
    *,
    earlier: Iterable[Decision] = (),
    language: str = "en",
) -> list[str]:
    """Return what followed: the reason of the credit, each other box that was off, disputes.

    Parameters
    ----------
    instance : Instance
    decision : Decision
    words : DecisionWords
    value : AnswerValue
        What was answered.
    credit : Credit
        What it earned.
    earlier : iterable of Decision
        Those met before: a dispute that one of them has told is not told again.
    language : str
        Two letters.
    """
    keys = [credit.reason]
    if decision.kind == "choose_several":
        keys += [
            tick.id
            for tick in decision.ticks
            if tick.right != (tick.id in value) and tick.id != credit.reason
        ]
    said = [fill_words(words.reasons[key], instance) for key in keys if key in words.reasons]
    known = {sentence for one in earlier for sentence in disputed(one.basis, language)}
    found = disputed(decision.basis, language)
    return said + [sentence for sentence in found if sentence not in known]


_POINTS = re.compile(r"^(arithmetic on|as) ([A-Z]+\d+)$")
"""A source that only points to another fact of the catalogue, by an id no reader knows."""


def _named(source: str) -> str:
    """Return a source, with the source of the fact it points to in place of that fact's id."""
    pointed = _POINTS.match(source)
    if pointed is None:
        return source
    return f"{pointed.group(1)} {facts()[pointed.group(2)].source}"


def basis(decision: Decision, say: Interface) -> Iterable[Mapping[str, str]]:
    """Return what the rule rests on, with its status in plain words."""
    for ground in said_basis(decision.basis):
        status = say.say(f"status_{ground.status}")
        if ground.text:
            source = "" if "no source" in ground.source else _named(ground.source)
            yield {"text": ground.text, "source": source, "status": status}
        else:
            yield {"text": ground.source, "source": "", "status": status}
