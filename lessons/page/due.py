"""What to practise next: the person's own mistakes, spaced so that they are met before forgotten.

Each topic is a card of the FSRS scheduler (the library `fsrs`; Ye, Su and Cao, "A Stochastic
Shortest Path Algorithm for Optimizing Spaced Repetition Scheduling", KDD 2022, from memory), and
each practice that asked about it is a review. A scenario is worth as much as the forgetting it
can prevent: the chance, by the next shift, that a topic once missed is missed again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from fsrs import Card, Rating, Scheduler

from lessons.page.history import History, Played
from scoring.library import Library
from scoring.marking.marks import DecisionMark
from scoring.model import Station
from scoring.scenario import Scenario

NEXT_SHIFT = timedelta(days=1)
"""When the next practice is expected. A working judgement, no source."""

MOST_TO_PRACTISE = 2
"""Two suggestions can be followed; more are a list nobody follows. A working judgement."""

_SCHEDULER = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
"""FSRS with its published default weights; steps of minutes are for flash cards, not for a sink."""


@dataclass(frozen=True)
class TopicDue:
    """How a topic stands with one person.

    Attributes
    ----------
    forgotten : float
        The chance that it is not recalled by the next shift, 0 to 1, by the scheduler.
    missed : datetime
        When it was last answered not fully right.
    """

    forgotten: float
    missed: datetime


@dataclass(frozen=True)
class Suggestion:
    """A scenario to practise, and the topic it is for; none where it is only new."""

    scenario: Scenario
    topic: str | None
    missed: datetime | None


def topics_due(played: Iterable[Played], now: datetime) -> dict[str, TopicDue]:
    """Return each topic that was ever answered not fully right, and how it stands now.

    Parameters
    ----------
    played : iterable of Played
        The person's practices, oldest first.
    now : datetime
        With its offset.
    """
    cards: dict[str, Card] = {}
    missed: dict[str, datetime] = {}
    for number, one in enumerate(played):
        for topic, marks in _by_topic(one).items():
            rating = min(_rating(mark) for mark in marks)
            card = cards.get(topic, Card(card_id=number, due=one.at))
            cards[topic], _ = _SCHEDULER.review_card(card, rating, _utc(one.at))
            if rating < Rating.Good:
                missed[topic] = one.at
    by_then = _utc(now) + NEXT_SHIFT
    return {
        topic: TopicDue(1.0 - _SCHEDULER.get_card_retrievability(cards[topic], by_then), at)
        for topic, at in missed.items()
    }


def suggestions(
    history: History,
    library: Library,
    now: datetime,
    *,
    station: Station,
    but: str = "",
) -> list[Suggestion]:
    """Return the few scenarios that are worth most now.

    Parameters
    ----------
    history : History
        The person's practices.
    library : Library
        The lessons there are.
    now : datetime
        With its offset.
    station : Station
        Where the person stands: others are asked only for what it cannot train, and it goes
        first among scenarios worth the same.
    but : str
        Id of a scenario not to be suggested, such as the one just played.

    Returns
    -------
    list of Suggestion
        The most forgetting prevented first; then what has not been done at this station. At
        most `MOST_TO_PRACTISE`, the second for another topic than the first where there is one.
    """
    due = topics_due(history.played, now)
    here = library.station_ids(station)
    others = [library.scenario(name) for name in here if name != but]
    lacking = due.keys() - {topic for one in others for topic in _topics(one)}
    # Whoever waits for this screen waits while files are read: only those that may help are.
    elsewhere = set(library.ids_naming(lacking)) - {*here, but}
    read = [library.scenario(name) for name in sorted(elsewhere)]
    others += [one for one in read if _topics(one) & lacking]
    found: list[Suggestion] = []
    served: set[str] = set()
    while len(found) < MOST_TO_PRACTISE:
        rest = {topic: one for topic, one in due.items() if topic not in served}
        taken = {one.scenario.id for one in found}
        best = _best([one for one in others if one.id not in taken], rest, history, station)
        if best is None:
            break
        found.append(best)
        if best.topic is not None:
            served |= _topics(best.scenario)
    return found


def _best(
    scenarios: list[Scenario], due: dict[str, TopicDue], history: History, station: Station
) -> Suggestion | None:
    def worth(one: Scenario) -> float:
        return sum(due[topic].forgotten for topic in _topics(one) & due.keys())

    def rank(one: Scenario) -> tuple[float, bool, bool, str]:
        return (-worth(one), one.station != station, one.id in history.done, one.id)

    best = min(scenarios, key=rank, default=None)
    if best is not None and worth(best) > 0:
        topics = _topics(best) & due.keys()
        topic = max(sorted(topics), key=lambda name: due[name].forgotten)
        return Suggestion(best, topic, due[topic].missed)
    new = [one for one in scenarios if one.station == station and one.id not in history.done]
    return Suggestion(new[0], None, None) if new else None


def _topics(scenario: Scenario) -> set[str]:
    return {decision.topic for decision in scenario.decisions}


def _by_topic(one: Played) -> dict[str, list[DecisionMark]]:
    found: dict[str, list[DecisionMark]] = {}
    for mark in one.marks.decisions:
        if mark.assessed:
            found.setdefault(one.scenario.decision(mark.decision).topic, []).append(mark)
    return found


def _rating(mark: DecisionMark) -> Rating:
    """Say how well something was known: a hint or part of the credit is hard, nothing is not."""
    if mark.unsafe or mark.credit <= 0.0:
        return Rating.Again
    return Rating.Good if mark.credit >= 1.0 else Rating.Hard


def _utc(at: datetime) -> datetime:
    """Return the same moment as the scheduler wants it."""
    return at.astimezone(UTC)
