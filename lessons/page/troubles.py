"""The screens of a lesson for what goes wrong: what it is and what to do, never a traceback."""

from __future__ import annotations

from lessons.page import screens
from lessons.page.around import Around
from lessons.page.screens import Screen, button
from scoring.faults import FaultError


def opened_elsewhere(around: Around) -> Screen:
    """Say that the sitting goes on in another window."""
    return _problem(around, "problem_stale", "problem_stale_remedy", ("retry", "reload"))


def damaged(around: Around, error: FaultError) -> Screen:
    """Say that the log was changed by hand; it stays as it is."""
    say = around.words.say
    fault = error.faults[0]
    return screens.problem(
        around.frame(say("problem_heading"), token=""),
        what=f"{say('problem_damaged')}\n\n{fault.item}: {fault.found}",
        remedy=say("problem_damaged_remedy"),
        button=button(say("start_over"), "start_over"),
    )


def fault(around: Around, error: FaultError) -> Screen:
    """Say which file of the kit or of the department cannot be used."""
    say = around.words.say
    first = error.faults[0]
    return screens.problem(
        around.frame(say("problem_heading"), token=""),
        what=say("problem_fault", item=first.item, found=first.found, wanted=first.wanted),
        remedy=f"{first.remedy}\n\n{say('problem_remedy')}",
        button=button(say("start_over"), "start_over"),
    )


def kit_fault(around: Around, name: str) -> Screen:
    """Say that something else is wrong; the details are in the server's log."""
    say = around.words.say
    return screens.problem(
        around.frame(say("problem_heading")),
        what=say("problem_kit", name=name),
        remedy=say("problem_remedy"),
        button=button(say("retry"), "reload"),
    )


def not_saved(around: Around, error: FaultError) -> str:
    """Return the sentence for an answer that could not be written down."""
    return f"{around.words.say('problem_unsaved')} {error.faults[0].remedy}"


def _problem(around: Around, what: str, remedy: str, retry: tuple[str, str]) -> Screen:
    say = around.words.say
    label, do = retry
    return screens.problem(
        around.frame(say("problem_heading")),
        what=say(what),
        remedy=say(remedy),
        button=button(say(label), do),
    )
