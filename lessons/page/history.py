"""What an operator has practised before, read from the logs and marked anew."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from lessons.page.practice import lesson_form
from scoring.faults import FaultError
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.records.log import LogRefused, ReadLog, RecordsError, read_log
from scoring.records.places import logs_folder
from scoring.scenario import Scenario
from scoring.settings import Settings
from scoring.site import SiteValues


@dataclass(frozen=True)
class Played:
    """One practice that was played to its end.

    Attributes
    ----------
    scenario : Scenario
    at : datetime
        When it ended, with its offset.
    marks : SittingMarks
        Under the site's values of today, which are those it was played under.
    """

    scenario: Scenario
    at: datetime
    marks: SittingMarks


@dataclass
class History:
    """One operator's practices.

    Attributes
    ----------
    played : list of Played
        What was played to its end and can be marked today, oldest first.
    done : dict of str to datetime
        Scenarios played to the end, and when last, whether or not they can be marked today.
    begun : dict of str to Path
        Scenarios with an open sitting that holds an answer: the latest one's log.
    unreadable : int
        Logs that are refused or cannot be read; they are left as they are.
    """

    played: list[Played] = field(default_factory=list)
    done: dict[str, datetime] = field(default_factory=dict)
    begun: dict[str, Path] = field(default_factory=dict)
    unreadable: int = 0


def read_history(settings: Settings, operator: str, library: Library, site: SiteValues) -> History:
    """Read every lesson log of `operator`.

    A practice under another version of its scenario or of the site's values counts as done; its
    marks are not known today, so it is not among those played.
    """
    found = History()
    started: dict[str, datetime] = {}
    for path in sorted((logs_folder(settings, "lesson") / operator).glob("*.jsonl")):
        try:
            log = read_log(path)
        except (LogRefused, RecordsError):
            found.unreadable += 1
            continue
        scenario = log.header.scenarios[0].id
        if log.close is not None:
            latest = found.done.get(scenario)
            found.done[scenario] = max(latest, log.close.at) if latest else log.close.at
            marks = _marked(log, library, site)
            if marks is not None:
                found.played.append(Played(library.scenario(scenario), log.close.at, marks))
        elif log.answers and (scenario not in started or log.header.started > started[scenario]):
            started[scenario] = log.header.started
            found.begun[scenario] = path
    found.played.sort(key=lambda one: one.at)
    return found


def _marked(log: ReadLog, library: Library, site: SiteValues) -> SittingMarks | None:
    """Return the marks of a closed practice; None when it was played under other versions."""
    try:
        form = lesson_form(library.scenario(log.header.scenarios[0].id))
        marker = Marker(form, lambda name, seed: library.instance(name, site, seed))
        return marker.mark(log)
    except FaultError:
        return None
