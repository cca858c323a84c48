"""Which part of a cohort somebody asks for: a site, a step, a period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scoring.cohort.saying import STATION_NAMES, listed
from scoring.cohort.table import CohortTable
from scoring.faults import FaultError
from scoring.model import STATIONS, Station
from scoring.observation import Observation

CHOICE = "what was asked for"
"""Stands where a fault otherwise names the file."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A part of the cohort; what is left empty asks for everything.

    Attributes
    ----------
    site : str
        As the file of operators names it.
    station : str
        Code of a step.
    since, until : date or None
        First and last day, both included.
    """

    site: str = ""
    station: str = ""
    since: date | None = None
    until: date | None = None

    @property
    def everything(self) -> bool:
        """Whether nothing is left out."""
        return self == Asked()

    def said(self) -> str:
        """Say what was asked for, as a sentence; empty when it is everything."""
        parts = []
        if self.site:
            parts.append(f"site {self.site}")
        if self.station:
            parts.append(f"step {_name(self.station)}")
        if self.since:
            parts.append(f"from {_day(self.since)}")
        if self.until:
            parts.append(f"until {_day(self.until)}")
        return f"Only a part is shown: {listed(parts)}." if parts else ""


def part(table: CohortTable, asked: Asked) -> CohortTable:
    """Return the part of a cohort that was asked for.

    Parameters
    ----------
    table : CohortTable
    asked : Asked

    Returns
    -------
    CohortTable
        The same table where everything was asked for.

    Raises
    ------
    FaultError
        A site or step that no sitting has, a period that ends before it begins, or no
        sitting is left.
    """
    if asked.everything:
        return table
    _check("site", asked.site, table.sites())
    _check("step", asked.station, table.stations_met())
    if asked.since and asked.until and asked.until < asked.since:
        raise FaultError.one(
            CHOICE,
            "period",
            found=f"{asked.since} to {asked.until}",
            wanted="an end that is not before its beginning",
            remedy="Change one of the two days.",
        )
    left = table.filtered(
        sites=[asked.site] if asked.site else None,
        stations=[asked.station] if asked.station else None,
        since=asked.since,
        until=asked.until,
    )
    if not len(left.stations):
        raise FaultError.one(
            CHOICE,
            "all choices together",
            found=asked.said().partition(": ")[2].rstrip("."),
            wanted="at least one sitting",
            remedy="Nobody sat an exam there and then. Ask for a longer period, or for more sites.",
        )
    return left


def observed_part(
    observations: Sequence[Observation], table: CohortTable, asked: Asked
) -> tuple[Observation, ...]:
    """Return the observations that belong to what was asked for.

    Parameters
    ----------
    observations : sequence of Observation
    table : CohortTable
        The whole cohort: it says who works at which site.
    asked : Asked
    """
    sat = table.sittings
    here = set(sat["operator"][sat["site"] == asked.site]) if asked.site else None
    return tuple(
        one
        for one in observations
        if (here is None or one.operator in here)
        and (not asked.station or one.station == asked.station)
        and (asked.since is None or one.at.date() >= asked.since)
        and (asked.until is None or one.at.date() <= asked.until)
    )


def _check(what: str, wanted: str, known: Sequence[str]) -> None:
    if wanted and wanted not in known:
        raise FaultError.one(
            CHOICE,
            what,
            found=wanted,
            wanted=f"one of {', '.join(known)}" if known else "nothing: there is no sitting yet",
            remedy=f"Write the {what} as it stands there.",
        )


def _name(station: str) -> str:
    names: dict[str, Station] = {name: name for name in STATIONS}
    return STATION_NAMES[names[station]] if station in names else station


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
