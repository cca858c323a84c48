"""How one person's practice at a station went, week by week."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from lessons.page.history import Played
from scoring.marking.marks import DecisionMark, StationResult
from scoring.marking.station import station_result
from scoring.model import Station

WEEKS_SHOWN = 8
"""Two months: longer ago says little about now. A working judgement, no source."""

_NO_CUT = 0.5
"""A week of practice has no cut score; its verdict is not used."""


@dataclass(frozen=True)
class Week:
    """One week in which something was practised.

    Attributes
    ----------
    monday : date
        Its first day, in the local time of the logs.
    practices : int
        How many scenarios were played to their end.
    result : StationResult
        Share of the points of all of them together, with interval and number of answers.
    """

    monday: date
    practices: int
    result: StationResult


def weeks_of(played: Iterable[Played], station: Station) -> list[Week]:
    """Return the latest weeks with practice at `station`, oldest first, at most `WEEKS_SHOWN`."""
    marks: dict[date, list[DecisionMark]] = {}
    practices: dict[date, int] = {}
    for one in played:
        if one.scenario.station != station:
            continue
        # The log's own offset: where and when the person stood at the bench.
        day = one.at.date()
        monday = day - timedelta(days=day.weekday())
        marks.setdefault(monday, []).extend(one.marks.decisions)
        practices[monday] = practices.get(monday, 0) + 1
    weeks = [
        Week(monday, practices[monday], station_result(station, marks[monday], _NO_CUT))
        for monday in sorted(marks)
    ]
    return weeks[-WEEKS_SHOWN:]
