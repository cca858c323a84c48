"""Summing up a practice: what went well, what would have gone further, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from lessons.page.done_before import DoneBefore
from lessons.page.interface import Interface
from lessons.page.practice import Practice
from scoring.catalogue import mistakes
from scoring.library import Library
from scoring.marking.marks import SittingMarks, StationResult
from scoring.wording import fill_words
from scoring.words import Words

WIDE_INTERVAL = 0.3
"""An interval wider than this says too little to act on. A working judgement, no source."""

MOST_TO_PRACTISE = 3
"""More than three suggestions are none. A working judgement, no source."""


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


def weak_spots(practice: Practice, marks: SittingMarks, words: Words) -> list[Mapping[str, str]]:
    """Return the questions that were not, as `text`, each with what to do instead, as `then`."""
    table = mistakes()
    lines: list[Mapping[str, str]] = []
    for mark in marks.decisions:
        if mark.assessed and mark.credit >= 1:
            continue
        question = fill_words(words.decisions[mark.decision].question, practice.instance)
        todo = " ".join(
            dict.fromkeys(_sentence(table[name].right_action) for name in mark.mistakes)
        )
        lines.append({"text": question, "then": todo})
    return lines


def reached(marks: SittingMarks, say: Interface) -> list[str]:
    """Return what the mistakes would have done, the worst first."""
    table = mistakes()
    made = dict.fromkeys(name for mark in marks.decisions for name in mark.mistakes)
    worst_first = sorted((table[name] for name in made), key=lambda row: -row.severity)
    return [say.say(f"reached_{row.who_is_harmed}", effect=row.effect) for row in worst_first]


def practise_next(
    practice: Practice,
    marks: SittingMarks,
    library: Library,
    before: DoneBefore,
    say: Interface,
    language: str,
) -> list[Mapping[str, str]]:
    """Return a few scenarios: this one if it had weak spots, the same topics, then what is new."""
    here = practice.scenario
    missed = {
        here.decision(mark.decision).topic
        for mark in marks.decisions
        if not (mark.assessed and mark.credit >= 1)
    }
    found: list[tuple[str, str]] = [(here.id, say.say("practise_again"))] if missed else []
    others = [library.scenario(name) for name in library.scenario_ids() if name != here.id]
    for other in others:
        shared = sorted(missed & {decision.topic for decision in other.decisions})
        if shared:
            topic = shared[0].replace("-", " ")
            found.append((other.id, say.say("practise_topic", topic=topic)))
    for other in others:
        if other.station == here.station and other.id not in before.done:
            found.append((other.id, say.say("practise_station")))
    return list(_titled(found, library, language))[:MOST_TO_PRACTISE]


def _titled(
    found: Iterable[tuple[str, str]], library: Library, language: str
) -> Iterable[Mapping[str, str]]:
    why_by_id: dict[str, str] = {}
    for name, why in found:
        why_by_id.setdefault(name, why)
    for name, why in list(why_by_id.items())[:MOST_TO_PRACTISE]:
        yield {"id": name, "title": library.words(name, language).title, "why": why}


def _sentence(text: str) -> str:
    """Make a sentence of one of the catalogue's phrases."""
    said = text[:1].upper() + text[1:]
    return said if said.endswith((".", "!", "?")) else said + "."
