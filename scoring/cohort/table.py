"""A cohort as tables: one row a sitting, a scenario sat, a station's result, a mistake.

The tables are read from the index in bulk, so that their cost grows with sittings
and scenarios, not with answers; the decisions themselves are read only when asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import pandas as pd  # type: ignore[import-untyped]

from scoring.marking.marks import Verdict
from scoring.model import STATIONS, Station

WHO_COLUMNS = ("sitting", "operator", "form")
SITTING_COLUMNS = (
    *WHO_COLUMNS, "site", "shift", "started", "day", "month", "months_in_post", "complete",
)  # fmt: skip
SCENARIO_COLUMNS = (
    *WHO_COLUMNS, "at", "scenario", "station", "decisions", "assessed", "right", "points",
    "maximum", "unsafe", "failed_critical", "hits", "misses", "false_alarms",
    "correct_rejections", "seconds", "residual",
)  # fmt: skip
STATION_COLUMNS = (
    *WHO_COLUMNS, "at", "station", "verdict", "complete", "points", "maximum", "share",
    "decisions", "unanswered", "failed_critical", "finished",
)  # fmt: skip
MISTAKE_COLUMNS = (*WHO_COLUMNS, "at", "station", "scenario", "decision", "mistake")
DECISION_COLUMNS = (
    *WHO_COLUMNS, "at", "scenario", "decision", "station", "assessed", "credit", "maximum",
    "points", "reason", "unsafe", "critical", "hinted", "off",
)  # fmt: skip

UNHEARD: Verdict = "not assessed"
"""The verdict of every station of a sitting that was never handed in: as in the rule for
which sitting counts (:mod:`scoring.marking.attempts`)."""


@dataclass(frozen=True)
class CohortTable:
    """The tables of one cohort; `at` is the row of `sittings` that a row belongs to.

    Texts of the three longer tables are categories, sorted: counting by them compares no text.

    Attributes
    ----------
    sittings : DataFrame
        One row a sitting that counts, by time of start; `SITTING_COLUMNS`. ``started`` in UTC;
        ``day`` and ``month`` as ``2025-03-31`` and ``2025-03``, by the clock of the place;
        ``months_in_post`` NaN where it is not known; ``complete`` says that it was handed in.
    scenarios : DataFrame
        One row a scenario sat; `SCENARIO_COLUMNS`. Counts of decisions: ``assessed`` were
        answered, ``right`` earned full credit. ``residual`` is protein left by the bench,
        ug/cm2, NaN where it was not computed; ``seconds`` the time taken.
    stations : DataFrame
        One row a station of a sitting; `STATION_COLUMNS`. ``share`` 0 to 1;
        ``finished`` is True when the sitting was handed in and every decision of
        the station was answered, and only then does the row count in a figure.
    mistakes : DataFrame
        One row a mistake made; `MISTAKE_COLUMNS`.
    read_decisions : callable
        Reads `decisions` when they are first asked for.
    """

    sittings: pd.DataFrame
    scenarios: pd.DataFrame
    stations: pd.DataFrame
    mistakes: pd.DataFrame
    read_decisions: Callable[[], pd.DataFrame]

    @cached_property
    def answered(self) -> pd.DataFrame:
        """Scenarios of sittings that were handed in, with an answer or more."""
        complete = self.sittings["complete"].to_numpy(dtype=bool)
        rows = self.scenarios
        keep = complete[rows["at"].to_numpy(dtype=int)] & (rows["assessed"].to_numpy() > 0)
        return as_categories(rows[keep], ("operator", "scenario", "station"))

    @cached_property
    def made(self) -> pd.DataFrame:
        """Mistakes of sittings that were handed in."""
        complete = self.sittings["complete"].to_numpy(dtype=bool)
        rows = self.mistakes
        rows = rows[complete[rows["at"].to_numpy(dtype=int)]]
        return as_categories(rows, ("operator", "scenario", "station", "decision", "mistake"))

    @property
    def unfinished(self) -> int:
        """Number of sittings that were never handed in."""
        return int((~self.sittings["complete"]).sum())

    def decisions(self) -> pd.DataFrame:
        """Return one row a decision of a sitting, answered or not; `DECISION_COLUMNS`.

        ``credit`` 0 to 1, ``maximum`` and ``points`` in points. By far the longest table: it
        is read anew at each call, and only the trainer's page asks for it.
        """
        rows = self.read_decisions()
        return rows[rows["sitting"].isin(self.sittings["sitting"])].reset_index(drop=True)

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
        return tuple(sorted(self.sittings["operator"].unique()))

    def forms(self) -> tuple[str, ...]:
        """Return the name of every form sat, sorted."""
        return tuple(sorted(self.sittings["form"].unique()))

    def sites(self) -> tuple[str, ...]:
        """Return every site, sorted."""
        return tuple(sorted(self.sittings["site"].unique()))

    def months(self) -> tuple[str, ...]:
        """Return every month in which somebody sat, sorted."""
        return tuple(sorted(set(self.sittings["month"].dropna())))

    def filtered(
        self,
        *,
        sites: Collection[str] | None = None,
        shifts: Collection[str] | None = None,
        operators: Collection[str] | None = None,
        stations: Collection[str] | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> CohortTable:
        """Return the part of the cohort that was asked for; None asks for everything.

        Parameters
        ----------
        sites, shifts, operators, stations : collection of str, optional
            Which to keep. A station that is left out takes its rows with it, not the sittings.
        since, until : date, optional
            First and last day, both included, by the sitting's own time zone.

        Returns
        -------
        CohortTable
            Perhaps without any row.
        """
        sat = self.sittings
        keep = pd.Series(True, index=sat.index)
        for column, wanted in (("site", sites), ("shift", shifts), ("operator", operators)):
            if wanted is not None:
                keep &= sat[column].isin(list(wanted))
        if since is not None:
            keep &= sat["day"] >= since.isoformat()
        if until is not None:
            keep &= sat["day"] <= until.isoformat()
        kept = sat[keep]
        place = pd.Series(range(len(kept)), index=kept.index)

        def part(rows: pd.DataFrame) -> pd.DataFrame:
            rows = rows[rows["at"].isin(place.index)]
            if stations is not None:
                rows = rows[rows["station"].isin(list(stations))]
            return rows.assign(at=rows["at"].map(place)).reset_index(drop=True)

        return replace(
            self,
            sittings=kept.reset_index(drop=True),
            scenarios=part(self.scenarios),
            stations=part(self.stations),
            mistakes=part(self.mistakes),
        )


def as_categories(rows: pd.DataFrame, columns: Collection[str]) -> pd.DataFrame:
    """Return rows with some columns as categories, where they are not already."""
    return rows.astype({name: "category" for name in columns if rows[name].dtype != "category"})
