"""What if: a practice played again with one decision changed, and the two ends side by side.

Nothing of it is written down: the log tells what the person did, and this was not done.
"""

from __future__ import annotations

from lessons.page import screens, told
from lessons.page.around import Around
from lessons.page.asking import question
from lessons.page.figures import beyond_limits, changed_figures
from lessons.page.practice import Practice
from lessons.page.screens import Screen, button
from scoring.attempt import AnswerValue
from scoring.finishing import finish
from scoring.marking.credit import credit
from scoring.play import Moment, replay
from scoring.scenario import Decision
from scoring.wording import fill_words
from scoring.words import Words


def offer(around: Around, practice: Practice, words: Words) -> Screen:
    """Offer the decisions of a finished practice, each with what was answered."""
    say = around.words.say
    items = []
    for decision, answer in zip(practice.scenario.decisions, practice.answers, strict=True):
        if not _can_change(decision):
            continue
        said = words.decisions[decision.id]
        worth = credit(decision, answer.value, practice.instance)
        given = told.said_answer(
            practice.instance, decision, said, answer.value, around.words, around.language
        )
        items.append(
            {
                "id": decision.id,
                "title": fill_words(said.question, practice.instance),
                "detail": say("what_if_yours", answer=given),
                "state": say(f"verdict_{told.verdict(worth)}"),
            }
        )
    return screens.choose(
        _frame(around, practice, say("what_if_heading")),
        intro=say("what_if_intro"),
        items=items,
        buttons=[button(say("what_if_back"), "summary")],
    )


def ask(
    around: Around, practice: Practice, words: Words, decision_id: str, *, notice: str = ""
) -> Screen:
    """Ask one decision again, at the moment at which it was met."""
    say = around.words.say
    asked = practice.scenario.decision(decision_id)
    number = practice.scenario.decisions.index(asked)
    said = words.decisions[asked.id]
    given = told.said_answer(
        practice.instance,
        asked,
        said,
        practice.answers[number].value,
        around.words,
        around.language,
    )
    frame = _frame(around, practice, fill_words(said.question, practice.instance), notice=notice)
    return question(
        around,
        practice,
        words,
        frame,
        number,
        given=say("what_if_yours", answer=given),
        label=say("what_if_try"),
    )


def ends(
    around: Around, practice: Practice, words: Words, decision_id: str, value: AnswerValue
) -> Screen:
    """Show the end of the practice as it was played, and with one decision answered otherwise."""
    say = around.words.say
    instance = practice.instance
    given = [answer.value for answer in practice.answers]
    number = [decision.id for decision in practice.scenario.decisions].index(decision_id)
    changed = [*given[:number], value, *given[number + 1 :]]
    played, tried = practice.moments[-1], replay(instance, changed)[-1]
    said = words.decisions[decision_id]
    asked = practice.scenario.decision(decision_id)

    def answer(one: AnswerValue) -> str:
        return told.said_answer(instance, asked, said, one, around.words, around.language)

    figures = changed_figures(instance, played, tried, around.words, around.language)
    pictures = [
        told.picture(instance, moment, caption, tell_soil=True, language=around.language)
        for moment, caption in ((played, say("what_if_played")), (tried, say("what_if_tried")))
    ]
    lines = [
        say("what_if_yours", answer=answer(given[number])),
        say("what_if_tried_now", answer=answer(value)),
    ]
    if not figures:
        lines.append(say("what_if_same"))
    left = {"played": _over(around, practice, played), "tried": _over(around, practice, tried)}
    if left["played"] == left["tried"]:
        left = {"both": left["played"]}
    return screens.what_if(
        _frame(around, practice, say("what_if_result")),
        said=lines,
        before=pictures[0],
        after=pictures[1],
        figures=figures,
        heads=(say("what_if_played"), say("what_if_tried")),
        then=[
            say(f"what_if_{which}_{'over' if over else 'within'}", what=over)
            for which, over in left.items()
        ],
        buttons=[
            button(say("what_if_more"), "what_if"),
            button(say("what_if_back"), "summary"),
        ],
    )


def _can_change(decision: Decision) -> bool:
    """Say whether another answer can change the instrument: looking or knowing changes nothing."""
    if decision.kind == "mark_places":
        return False
    if decision.step is not None or decision.ahead is not None:
        return True
    if decision.kind == "choose_one":
        return any(option.handling.settings() for option in decision.options)
    if decision.kind == "choose_several":
        return any(
            tick.handling.settings() or tick.handling_without.settings() for tick in decision.ticks
        )
    if decision.kind == "order":
        return any(item.step for item in decision.items)
    return True


def _over(around: Around, practice: Practice, moment: Moment) -> str:
    """Return what would still be beyond its limit after the rest is done by the book."""
    left = finish(practice.instance, moment)
    found = beyond_limits(practice.instance, left, around.words, around.language)
    return "; ".join(found)


def _frame(around: Around, practice: Practice, heading: str, *, notice: str = "") -> screens.Frame:
    return around.frame(
        heading, operator=practice.log.header.operator, notice=notice, token=practice.token
    )
