"""Marks of many sittings as tables: one row a decision, a station result, a mistake."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import pandas as pd  # type: ignore[import-untyped]

from scoring.marking.marks import SittingMarks, StationResult, Verdict
from scoring.model import STATIONS, Station

SITTING_COLUMNS = ("sitting", "operator", "form")
DECISION_COLUMNS = (
    *SITTING_COLUMNS, "scenario", "decision", "station", "assessed", "credit", "maximum",
    "points", "reason", "unsafe", "critical",
)  # fmt: skip
STATION_COLUMNS = (
    *SITTING_COLUMNS, "station", "verdict", "complete", "points", "maximum", "share",
    "decisions", "unanswered", "failed_critical", "finished",
)  # fmt: skip
MISTAKE_COLUMNS = (*SITTING_COLUMNS, "station", "scenario", "decision", "mistake")

UNHEARD: Verdict = "not assessed"
"""The verdict of every station of a sitting that was never handed in: as in the rule for
which sitting counts (:mod:`scoring.marking.attempts`)."""


@dataclass(frozen=True)
class CohortTable:
    """The tables of one cohort.

    Attributes
    ----------
    marks : tuple of SittingMarks
        What the tables are made from.
    stations : DataFrame
        One row a station of a sitting; `STATION_COLUMNS`. ``share`` 0 to 1;
        ``finished`` is True when the sitting was handed in and every decision of
        the station was answered, and only then does the row count in a figure.
    mistakes : DataFrame
        One row a mistake made; `MISTAKE_COLUMNS`.
    """

    marks: tuple[SittingMarks, ...]
    stations: pd.DataFrame
    mistakes: pd.DataFrame

    @property
    def sittings(self) -> int:
        """Number of sittings."""
        return len(self.marks)

    @property
    def unfinished(self) -> int:
        """Number of sittings that were never handed in."""
        return sum(not sitting.complete for sitting in self.marks)

    @cached_property
    def decisions(self) -> pd.DataFrame:
        """One row a decision of a sitting, answered or not; `DECISION_COLUMNS`.

        ``credit`` 0 to 1, ``maximum`` and ``points`` in points. Made when first
        asked for: the report does without this, by far the longest, table.
        """
        rows = [
            (sitting.sitting, sitting.operator, sitting.form, mark.scenario, mark.decision,
             mark.station, mark.assessed, mark.credit, mark.maximum, mark.points, mark.reason,
             mark.unsafe, mark.critical)
            for sitting in self.marks
            for mark in sitting.decisions
        ]  # fmt: skip
        return pd.DataFrame(rows, columns=list(DECISION_COLUMNS)).astype(
            {"assessed": bool, "unsafe": bool, "critical": bool}
        )

    def finished(self, station: Station) -> pd.DataFrame:
        """Return the finished results of one station."""
        rows = self.stations
        return rows[(rows["station"] == station) & rows["finished"]]

    def stations_met(self) -> tuple[Station, ...]:
        """Return the stations that some sitting holds, in the order of the work."""
        met = set(self.stations["station"].unique())
        return tuple(station for station in STATIONS if station in met)

    def operators(self) -> tuple[str, ...]:
        """Return every operator code, sorted."""
        return tuple(sorted(self.stations["operator"].unique()))


def tabulate(marks: Iterable[SittingMarks]) -> CohortTable:
    """Lay the marks of many sittings out as tables.

    Parameters
    ----------
    marks : iterable of SittingMarks
        May be empty; the tables then have columns and no rows.

    Raises
    ------
    ValueError
        A sitting stands twice: it would be counted twice.
    """
    kept = tuple(marks)
    twice = len(kept) - len({sitting.sitting for sitting in kept})
    if twice:
        raise ValueError(f"{twice} sittings stand twice; each may count once")
    stations = [
        (sitting.sitting, sitting.operator, sitting.form, *_station_row(sitting, result))
        for sitting in kept
        for result in sitting.stations
    ]
    mistakes = [
        (sitting.sitting, sitting.operator, sitting.form, mark.station, mark.scenario,
         mark.decision, mistake)
        for sitting in kept
        for mark in sitting.decisions
        for mistake in mark.mistakes
    ]  # fmt: skip
    return CohortTable(
        marks=kept,
        stations=pd.DataFrame(stations, columns=list(STATION_COLUMNS)).astype(
            {"finished": bool, "complete": bool}
        ),
        mistakes=pd.DataFrame(mistakes, columns=list(MISTAKE_COLUMNS)),
    )


def _station_row(sitting: SittingMarks, result: StationResult) -> tuple[object, ...]:
    return (
        result.station,
        result.verdict if sitting.complete else UNHEARD,
        sitting.complete,
        result.points,
        result.maximum,
        result.share,
        result.decisions,
        result.unanswered,
        len(result.failed_critical),
        sitting.complete and result.decisions > 0 and result.unanswered == 0,
    )
