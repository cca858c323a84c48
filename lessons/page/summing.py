"""Summing up a practice: what went well, what would have gone further, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from lessons.page import told
from lessons.page.catalogue_words import mistake_words
from lessons.page.due import Suggestion
from lessons.page.figures import beyond_limits
from lessons.page.interface import Interface
from lessons.page.practice import Practice
from lessons.page.weeks import Week
from scoring.catalogue import mistakes
from scoring.finishing import finish
from scoring.library import Library
from scoring.marking.marks import SittingMarks, StationResult
from scoring.model import Station
from scoring.site import SiteValues
from scoring.wording import fill_words
from scoring.words import Words

WIDE_INTERVAL = 0.3
"""An interval wider than this says too little to act on. A working judgement, no source."""


def share_line(result: StationResult, say: Interface) -> Mapping[str, Any]:
    """Return a station's share with its interval, n, and the sentence that says them."""
    if result.decisions == 0:
        said = say.say("not_assessed")
    else:
        said = say.say(
            "share_said",
            share=round(100 * result.share),
            n=result.decisions,
            low=round(100 * result.low),
            high=round(100 * result.high),
        )
        if result.high - result.low > WIDE_INTERVAL:
            said += " " + say.say("too_little")
    known = result.decisions > 0
    return {
        "station": say.say(f"station_{result.station}"),
        "verdict": result.verdict,
        "share": result.share,
        "low": result.low if known else None,
        "high": result.high if known else None,
        "n": result.decisions,
        "said": said,
    }


def strengths(practice: Practice, marks: SittingMarks, words: Words) -> list[str]:
    """Return the questions that were answered fully right."""
    return [
        fill_words(words.decisions[mark.decision].question, practice.instance)
        for mark in marks.decisions
        if mark.assessed and mark.credit >= 1
    ]


def weak_spots(
    practice: Practice, marks: SittingMarks, words: Words, say: Interface, language: str
) -> list[Mapping[str, str]]:
    """Return the questions that were not, as `text`, each with the right answer, as `then`."""
    lines: list[Mapping[str, str]] = []
    for mark in marks.decisions:
        if mark.assessed and mark.credit >= 1:
            continue
        said = words.decisions[mark.decision]
        asked = practice.scenario.decision(mark.decision)
        right = told.right_answer(practice.instance, asked, said, say, language)
        then = say.say("weak_then", answer=_joined(right, ordered=asked.kind == "order"))
        lines.append({"text": fill_words(said.question, practice.instance), "then": then})
    return lines


def reached(marks: SittingMarks, site: SiteValues, say: Interface) -> list[str]:
    """Return mistakes of the kind that was made, each with what it leads to, the worst first.

    The site's own severities go before the catalogue's.
    """
    table = mistakes()
    made = dict.fromkeys(name for mark in marks.decisions for name in mark.mistakes)
    worst_first = sorted(
        (table[name] for name in made), key=lambda row: -site.severity.get(row.id, row.severity)
    )
    lines = []
    for row in worst_first:
        words = mistake_words(row.id, say.language)
        lines.append(
            say.say(
                f"reached_{row.who_is_harmed}", mistake=words.mistake, effect=_capital(words.effect)
            )
        )
    return lines


def practise_next(
    found: Iterable[Suggestion], library: Library, station: Station, say: Interface, language: str
) -> list[Mapping[str, str]]:
    """Return each suggestion with its title and the reason for it."""
    lines: list[Mapping[str, str]] = []
    for one in found:
        why = say.say("practise_station")
        if one.topic is not None and one.missed is not None:
            why = say.say(
                "practise_topic",
                topic=say.say(f"topic_{one.topic}"),
                date=f"{one.missed.astimezone():%Y-%m-%d}",
            )
        if one.scenario.station != station:
            name = say.say(f"station_{one.scenario.station}")
            why = say.say("practise_elsewhere", why=why, station=name)
        words = library.words(one.scenario.id, language)
        if words.language != say.language:
            why += f" {say.say('only_english')}"
        lines.append({"id": one.scenario.id, "title": words.title, "why": why})
    return lines


def week_line(week: Week, say: Interface) -> Mapping[str, Any]:
    """Return one week of practice as a line with its interval and number of answers."""
    result = week.result
    return {
        "station": say.say("week_of", date=week.monday.isoformat()),
        "verdict": "",
        "share": result.share,
        "low": result.low,
        "high": result.high,
        "n": result.decisions,
        "said": say.say(
            "week_said",
            practices=week.practices,
            n=result.decisions,
            share=round(100 * result.share),
            low=round(100 * result.low),
            high=round(100 * result.high),
        ),
    }


def ended(practice: Practice, say: Interface, language: str) -> str:
    """Return what this play would have let reach the patient, the rest done by the book."""
    left = finish(practice.instance, practice.moments[-1])
    over = beyond_limits(practice.instance, left, say, language)
    if over:
        return say.say("ended_over", what="; ".join(over))
    return say.say("ended_within", site=practice.instance.site.name)


def _joined(answers: Sequence[str], *, ordered: bool) -> str:
    """Join parts of an answer into one line; numbers show an order that must be kept."""
    if ordered:
        return " ".join(f"({at}) {text}" for at, text in enumerate(answers, start=1))
    return " + ".join(answers)


def _capital(text: str) -> str:
    """Let one of the catalogue's phrases begin a sentence."""
    return text[:1].upper() + text[1:]
