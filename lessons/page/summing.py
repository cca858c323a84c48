"""Summing up a practice: what went well, what would have gone further, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from lessons.page import told
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


def reached(marks: SittingMarks, say: Interface) -> list[str]:
    """Return mistakes of the kind that was made, each with what it leads to, the worst first."""
    table = mistakes()
    made = dict.fromkeys(name for mark in marks.decisions for name in mark.mistakes)
    worst_first = sorted((table[name] for name in made), key=lambda row: -row.severity)
    return [
        say.say(f"reached_{row.who_is_harmed}", mistake=row.mistake, effect=_capital(row.effect))
        for row in worst_first
    ]


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


def _joined(answers: Sequence[str], *, ordered: bool) -> str:
    """Join parts of an answer into one line; numbers show an order that must be kept."""
    if ordered:
        return " ".join(f"({at}) {text}" for at, text in enumerate(answers, start=1))
    return " + ".join(answers)


def _titled(
    found: Iterable[tuple[str, str]], library: Library, language: str
) -> Iterable[Mapping[str, str]]:
    why_by_id: dict[str, str] = {}
    for name, why in found:
        why_by_id.setdefault(name, why)
    for name, why in list(why_by_id.items())[:MOST_TO_PRACTISE]:
        yield {"id": name, "title": library.words(name, language).title, "why": why}


def _capital(text: str) -> str:
    """Let one of the catalogue's phrases begin a sentence."""
    return text[:1].upper() + text[1:]
