"""Who answered what, where and when: the columns that everything over time is counted from.

One row a scenario of a handed-in sitting whose decisions were all answered. Text
becomes numbers once, so that counting does not slow down with the cohort.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable
from scoring.model import STATIONS, Station

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

MONTHS_A_YEAR = 12

SAME_MIX = 1e-6
"""Mixes of scenarios that differ by less, in log odds, are the same but for rounding."""

NO_SHIFT = "shift not known"
"""Stands for a shift that the file of people does not name."""


@dataclass(frozen=True, eq=False)
class AnswersInTime:
    """Scenarios answered whole, one row each, in order of time.

    Attributes
    ----------
    operators, scenarios, places : tuple of str
        Names behind the numbers, sorted; a place is a site with a shift.
    operator, scenario, place : ndarray of int, shape (rows,)
        Numbers of those names.
    station : ndarray of int, shape (rows,)
        Position in `STATIONS`.
    month : ndarray of int, shape (rows,)
        Months since year 0: ``12 * year + month - 1``.
    day : ndarray of datetime64[D], shape (rows,)
    in_post : ndarray of float, shape (rows,)
        Months in post, NaN where not known.
    at : ndarray of int, shape (rows,)
        Row of the table's sittings.
    decisions, wrong : ndarray of int, shape (rows,)
        Decisions, and those that did not earn full credit.
    left_out : int
        Scenarios left out: not handed in, or not answered whole.
    """

    operators: tuple[str, ...]
    scenarios: tuple[str, ...]
    places: tuple[str, ...]
    operator: Ints
    scenario: Ints
    place: Ints
    station: Ints
    month: Ints
    day: npt.NDArray[np.datetime64]
    in_post: Floats
    at: Ints
    decisions: Ints
    wrong: Ints
    left_out: int

    @property
    def empty(self) -> bool:
        """Whether nothing was answered whole."""
        return len(self.at) == 0

    def stations(self) -> tuple[Station, ...]:
        """Return the stations met, in the order of the work."""
        met = set(np.unique(self.station).tolist())
        return tuple(name for number, name in enumerate(STATIONS) if number in met)

    def last_day(self) -> date | None:
        """Return the last day with an answer; None where there is none."""
        return None if self.empty else self.day.max().astype(object)


def answers_in_time(table: CohortTable) -> AnswersInTime:
    """Return the answers of a cohort as columns of numbers."""
    sat, rows = table.sittings, table.scenarios
    at = rows["at"].to_numpy(dtype=np.int64)
    decisions = rows["decisions"].to_numpy(dtype=np.int64)
    assessed = rows["assessed"].to_numpy(dtype=np.int64)
    complete = sat["complete"].to_numpy(dtype=bool)
    day = pd.to_datetime(sat["day"], errors="coerce").to_numpy().astype("datetime64[D]")
    whole = complete[at] & (decisions > 0) & (assessed == decisions) & ~np.isnat(day[at])
    keep = np.flatnonzero(whole)
    who, operators = pd.factorize(sat["operator"], sort=True)
    place, places = pd.factorize(_places(sat), sort=True)
    scenario, scenarios = pd.factorize(rows["scenario"], sort=True)
    station, names = pd.factorize(rows["station"])
    order = np.array([STATIONS.index(name) for name in names], dtype=np.int64)
    step = order[station] if len(order) else np.zeros(0, dtype=np.int64)
    # By time, then in the order of the work, whatever the order of the rows.
    keep = keep[np.lexsort((scenario[keep], step[keep], at[keep], day[at[keep]]))]
    at = at[keep]
    right = rows["right"].to_numpy(dtype=np.int64)
    return AnswersInTime(
        operators=tuple(map(str, operators)),
        scenarios=tuple(map(str, scenarios)),
        places=tuple(map(str, places)),
        operator=who.astype(np.int64)[at],
        scenario=scenario.astype(np.int64)[keep],
        place=place.astype(np.int64)[at],
        station=step[keep],
        month=day[at].astype("datetime64[M]").astype(np.int64) + 1970 * MONTHS_A_YEAR,
        day=day[at],
        in_post=pd.to_numeric(sat["months_in_post"], errors="coerce").to_numpy(dtype=float)[at],
        at=at,
        decisions=decisions[keep],
        wrong=decisions[keep] - right[keep],
        left_out=len(rows) - len(keep),
    )


def _places(sat: pd.DataFrame) -> pd.Series:
    shift = sat["shift"].astype(object).where(sat["shift"].astype(bool), NO_SHIFT)
    return sat["site"].astype(str) + ", " + shift.astype(str)


def some_of(
    answers: AnswersInTime, wanted: npt.NDArray[np.bool_], most: int
) -> npt.NDArray[np.bool_]:
    """Return at most `most` of some operators, evenly spread over the sorted codes.

    Parameters
    ----------
    answers : AnswersInTime
    wanted : ndarray of bool, shape (operators,)
    most : int
        1 or more.
    """
    codes = np.flatnonzero(wanted)
    chosen = np.zeros(len(answers.operators), dtype=bool)
    chosen[codes[np.linspace(0, len(codes) - 1, min(most, len(codes))).round().astype(int)]] = True
    return chosen


def mix_of(answers: AnswersInTime, rows: npt.NDArray[np.bool_], at: Ints) -> list[float]:
    """Return how easy the scenarios of each cell are, for a model that knows no scenarios.

    Parameters
    ----------
    answers : AnswersInTime
    rows : ndarray of bool
        The rows in question.
    at : ndarray of int, shape (rows in question,)
        Cell of each.

    Returns
    -------
    list of float
        Log odds of a right decision that the pooled rates of the scenarios give, less their
        mean; empty where all cells have the same mix.
    """
    size = len(answers.scenarios)
    scenario, weights = answers.scenario[rows], answers.decisions[rows]
    n = np.bincount(scenario, weights, size)
    wrong = np.bincount(scenario, answers.wrong[rows], size)
    # Half a decision of each kind keeps scenarios that everybody gets right finite.
    rate = (wrong + 0.5) / (n + 1.0)
    expected = np.bincount(at, weights * rate[scenario]) / np.bincount(at, weights)
    odds = np.log1p(-expected) - np.log(expected)
    return (odds - odds.mean()).tolist() if np.ptp(odds) > SAME_MIX else []


def month_name(month: int) -> str:
    """Return a month number as ``2025-03``."""
    return f"{month // MONTHS_A_YEAR:04d}-{month % MONTHS_A_YEAR + 1:02d}"


def month_said(month: int) -> str:
    """Return a month number as ``March 2025``."""
    return f"{date(month // MONTHS_A_YEAR, month % MONTHS_A_YEAR + 1, 1):%B %Y}"


def day_said(day: date) -> str:
    """Return a day as ``1 July 2025``."""
    return f"{day.day} {day:%B %Y}"
