"""Which mistakes are made most at each station, and by how many people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scoring.catalogue import Mistake
from scoring.cohort.table import CohortTable
from scoring.evidence import CONFIDENCE
from scoring.model import Station
from scoring.variation.intervals import Interval, wilson

MIDDLE_SEVERITY = 2
"""Severity, 1 to 4, of a mistake that the catalogue no longer has. An assumption."""


@dataclass(frozen=True, slots=True)
class FrequentMistake:
    """One mistake at one station.

    Attributes
    ----------
    station : Station
        Station of the scenario in which it was made.
    mistake : str
        Id in the catalogue.
    text, right_action : str
        What was done, and what is right, as the catalogue says.
    severity : int
        1 to 4; the site's value where it has one.
    times, sittings : int
        How often, and in how many sittings.
    operators : int
        Operators who made it at least once.
    share : Interval
        Those operators among all who answered anything at the station.
    """

    station: Station
    mistake: str
    text: str
    right_action: str
    severity: int
    times: int
    sittings: int
    operators: int
    share: Interval


def frequent_mistakes(
    table: CohortTable,
    catalogue: Mapping[str, Mistake],
    severity: Mapping[str, int],
    most: int | None = None,
    confidence: float = CONFIDENCE,
) -> dict[Station, tuple[FrequentMistake, ...]]:
    """Return the mistakes of each station met, those of most operators first.

    Parameters
    ----------
    table : CohortTable
    catalogue : mapping of str to Mistake
    severity : mapping of str to int
        The site's own severities, which overrule the catalogue's.
    most : int, optional
        At most this many a station.
    confidence : float

    Notes
    -----
    A mistake that the catalogue no longer has is kept and says so: an old mark
    is still evidence.
    """
    answered = table.stations[table.stations["decisions"] > 0]
    met = answered.groupby("station")["operator"].nunique().to_dict()
    found: dict[Station, list[FrequentMistake]] = {s: [] for s in table.stations_met()}
    for (station, mistake), rows in table.mistakes.groupby(["station", "mistake"], sort=True):
        entry = catalogue.get(mistake)
        operators = int(rows["operator"].nunique())
        found[station].append(
            FrequentMistake(
                station=station,
                mistake=mistake,
                text=entry.mistake if entry else f"Mistake {mistake}, no longer in the catalogue",
                right_action=entry.right_action if entry else "",
                severity=severity.get(mistake, entry.severity if entry else MIDDLE_SEVERITY),
                times=len(rows),
                sittings=int(rows["sitting"].nunique()),
                operators=operators,
                share=wilson(operators, int(met[station]), confidence),
            )
        )
    return {
        station: tuple(sorted(mistakes, key=_worst_first)[:most])
        for station, mistakes in found.items()
    }


def _worst_first(mistake: FrequentMistake) -> tuple[int, int, int, str]:
    return (-mistake.operators, -mistake.severity, -mistake.times, mistake.mistake)
