"""What an answer did, as two pictures and the figures that differ between them.

An answer whose step ran shows the instrument before and after. An answer that
only prepares a later step shows where it leads, and where the right one would have led.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lessons.page import screens, told
from lessons.page.figures import changed_figures, clearly_apart
from lessons.page.interface import Interface
from lessons.page.practice import Practice
from lessons.page.ringed import ringed
from scoring.marking.credit import credit
from scoring.marking.right import right_answer
from scoring.play import Moment, after, looking_ahead, replay


@dataclass(frozen=True)
class Compared:
    """Two pictures and what differs between them; `before` None when nothing does."""

    before: screens.Picture | None
    after: screens.Picture
    figures: list[Mapping[str, str]]
    heads: tuple[str, str]


def compared(practice: Practice, words: Interface, language: str, *, right: bool) -> Compared:
    """Return what the last answer did; `right` when it earned everything."""
    say = words.say
    count = len(practice.answers)
    asked = practice.scenario.decisions[count - 1]
    instance = practice.instance
    was, now = practice.moments[count - 1], practice.moments[count]
    hidden = told.still_to_find(instance, count)

    def shown(moment: Moment, caption: str) -> screens.Picture:
        return told.picture(instance, moment, caption, tell_soil=not hidden, language=language)

    if asked.kind == "mark_places":
        met = shown(was, say("as_met"))
        marked = tuple(practice.answers[-1].value)
        rings = ringed(met, instance, was, marked, words, language)
        return Compared(None, rings, [], (say("before_caption"), say("after_caption")))
    if asked.ahead is None:
        captions = heads = (say("before_caption"), say("after_caption"))
        same = say("unchanged_caption")
        first, second = was, now
    else:
        step = say(f"ahead_{asked.ahead.step}")
        led = looking_ahead(instance, asked, now)
        if right:
            captions = (say("head_now"), say("ahead_right", step=step))
            heads = (say("head_now"), say("head_later"))
            first, second = was, led
        else:
            captions = (say("ahead_yours", step=step), say("ahead_best", step=step))
            heads = (say("head_yours"), say("head_best"))
            best = after(instance, asked, right_answer(asked, instance), was)
            first, second = led, looking_ahead(instance, asked, best)
        same = captions[1] if right else say("ahead_same", step=step)
    before, later = shown(first, captions[0]), shown(second, captions[1])
    figures = changed_figures(instance, first, second, words, language)
    if _drawn(before) == _drawn(later):
        caption = captions[1] if figures and asked.ahead is None else same
        return Compared(None, later | {"caption": caption}, figures, heads)
    return Compared(before, later, figures, heads)


def earlier_shown(practice: Practice) -> bool:
    """Say whether mistakes made before the last answer still show after it."""
    count = len(practice.answers)
    instance = practice.instance
    *before, asked = practice.scenario.decisions[:count]
    given = [answer.value for answer in practice.answers]
    if all(
        credit(one, value, instance).credit >= 1 for one, value in zip(before, given, strict=False)
    ):
        return False
    best = [right_answer(one, instance) for one in before]
    led = looking_ahead(instance, asked, practice.moments[count])
    clean = looking_ahead(instance, asked, replay(instance, [*best, given[-1]])[-1])
    return clearly_apart(instance, clean, led)


def _drawn(picture: screens.Picture) -> str:
    """Return what is drawn, without the opening tag, which carries the caption."""
    return str(picture["svg"]).partition(">")[2]


def picture_at(practice: Practice, at: int, caption: str, language: str) -> screens.Picture:
    """Return the instrument after `at` answers, without words that give soil away too early."""
    return told.picture(
        practice.instance,
        practice.moments[at],
        caption,
        tell_soil=not told.still_to_find(practice.instance, at),
        language=language,
    )
