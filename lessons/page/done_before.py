"""What an operator has practised before, read from the logs."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from scoring.records.log import LogRefused, RecordsError, read_log
from scoring.records.places import logs_folder
from scoring.settings import Settings


@dataclass
class DoneBefore:
    """One operator's practices.

    Attributes
    ----------
    done : dict of str to datetime
        Scenarios played to the end, and when last.
    begun : dict of str to Path
        Scenarios with an open sitting that holds an answer: the latest one's log.
    unreadable : int
        Logs that are refused or cannot be read; they are left as they are.
    """

    done: dict[str, datetime] = field(default_factory=dict)
    begun: dict[str, Path] = field(default_factory=dict)
    unreadable: int = 0


def done_before(settings: Settings, operator: str) -> DoneBefore:
    """Read every lesson log of `operator`."""
    found = DoneBefore()
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
        elif log.answers and (scenario not in started or log.header.started > started[scenario]):
            started[scenario] = log.header.started
            found.begun[scenario] = path
    return found
