"""One person's results: own rates, what the others lie between, own mistakes, progress, looking."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd  # type: ignore[import-untyped]

from scoring.catalogue import Mistake
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.model import Station
from scoring.variation.proportion_intervals import difference_interval, proportion_interval
from scoring.variation.signal_detection import SignalDetection, signal_detection

FEWEST_ANSWERS = 10
"""Own answers at a step from which a rate is told: with fewer the interval spans half of the scale.
A working judgement."""

FEWEST_OTHERS = 10
"""Others from which their range is told, so that nobody can be found in it. A working judgement,
no source."""

MIDDLE = (10.0, 90.0)
"""Percentiles between which 8 of 10 others lie."""

MOST_PERIODS = 4
"""Quarters shown: a year."""


@dataclass(frozen=True, slots=True)
class OwnStep:
    """One step.

    Attributes
    ----------
    station : Station
    right, answers, scenarios : int
        Decisions with full credit, decisions answered, scenarios sat.
    rate : Estimate or TooLittleEvidence
        Wilson's interval; answers taken as independent.
    others : tuple of float or None
        Shares between which 8 of 10 others lie; None with fewer than 10 others.
    """

    station: Station
    right: int
    answers: int
    scenarios: int
    rate: Estimate | TooLittleEvidence
    others: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class OwnMistake:
    """A mistake made, with what is right.

    Attributes
    ----------
    text, right_action : str
    times, sittings : int
    severity : int
        1 to 4.
    """

    text: str
    right_action: str
    times: int
    sittings: int
    severity: int


@dataclass(frozen=True, slots=True)
class Quarter:
    """Three months: name (``2025, January to March``), right decisions, all, and the rate."""

    name: str
    right: int
    answers: int
    rate: Estimate | TooLittleEvidence


@dataclass(frozen=True)
class OwnResults:
    """Everything of one person.

    Attributes
    ----------
    code : str
    sittings : int
        Handed in.
    first, last : str
        Days, as the table has them; empty without a sitting.
    steps : tuple of OwnStep
        In the order of the work.
    mistakes : tuple of OwnMistake
        The most frequent first; of equals the most severe.
    unsafe : int
        Answers that could hurt somebody.
    looking : SignalDetection or TooLittleEvidence
    quarters : tuple of Quarter
        The last four with an answer.
    change : Estimate or TooLittleEvidence
        Rate of the later half of the answers less that of the earlier half.
    """

    code: str
    sittings: int
    first: str
    last: str
    steps: tuple[OwnStep, ...]
    mistakes: tuple[OwnMistake, ...]
    unsafe: int
    looking: SignalDetection | TooLittleEvidence
    quarters: tuple[Quarter, ...]
    change: Estimate | TooLittleEvidence


def own_results(
    table: CohortTable, code: str, catalogue: Mapping[str, Mistake], severity: Mapping[str, int]
) -> OwnResults:
    """Return the results of one person.

    Parameters
    ----------
    table : CohortTable
        Of the whole department, for what the others lie between.
    code : str
        The operator's code; one without a sitting has results that say so.
    catalogue : mapping of str to Mistake
    severity : mapping of str to int
        The site's own severities.
    """
    done = table.sittings["complete"].to_numpy(dtype=bool)
    rows = table.scenarios
    rows = rows[(rows["assessed"] > 0) & done[rows["at"].to_numpy(dtype=int)]]
    own = rows[rows["operator"] == code]
    mine = table.sittings[(table.sittings["operator"] == code) & table.sittings["complete"]]
    days = sorted(mine["day"].dropna())
    return OwnResults(
        code=code,
        sittings=len(mine),
        first=days[0] if days else "",
        last=days[-1] if days else "",
        steps=tuple(_step(station, rows, code) for station in table.stations_met()),
        mistakes=_mistakes(table, code, catalogue, severity),
        unsafe=int(own["unsafe"].sum()),
        looking=_looking(own),
        quarters=_quarters(table, own),
        change=_change(table, own),
    )


def _step(station: Station, rows: pd.DataFrame, code: str) -> OwnStep:
    here = rows[rows["station"] == station]
    summed = here.groupby("operator")[["right", "assessed"]].sum()
    right, answers = (
        (int(summed.loc[code, "right"]), int(summed.loc[code, "assessed"]))
        if code in summed.index
        else (0, 0)
    )
    rate: Estimate | TooLittleEvidence
    if answers < FEWEST_ANSWERS:
        said = f"Only {answers} answers; at least {FEWEST_ANSWERS} are needed."
        rate = TooLittleEvidence("answers", said, answers)
    else:
        rate = proportion_interval(right, answers)
    others = summed[(summed.index != code) & (summed["assessed"] >= FEWEST_ANSWERS)]
    between = None
    if len(others) >= FEWEST_OTHERS:
        shares = (others["right"] / others["assessed"]).to_numpy(dtype=float)
        low, high = np.percentile(shares, MIDDLE)
        between = float(low), float(high)
    scenarios = int(here[here["operator"] == code]["scenario"].nunique())
    return OwnStep(station, right, answers, scenarios, rate, between)


def _mistakes(
    table: CohortTable, code: str, catalogue: Mapping[str, Mistake], severity: Mapping[str, int]
) -> tuple[OwnMistake, ...]:
    made = table.mistakes[table.mistakes["operator"] == code]
    found = []
    for name, rows in made.groupby("mistake", sort=True):
        entry = catalogue.get(str(name))
        if entry is None:
            continue  # a mistake nobody can look up any more helps nobody to practise
        weight = severity.get(str(name), entry.severity)
        found.append(
            OwnMistake(
                entry.mistake, entry.right_action, len(rows), rows["sitting"].nunique(), weight
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.times, -one.severity, one.text)))


def _looking(own: pd.DataFrame) -> SignalDetection | TooLittleEvidence:
    counts = own[["hits", "misses", "false_alarms", "correct_rejections"]].sum()
    return signal_detection(*(int(number) for number in counts))


def _quarters(table: CohortTable, own: pd.DataFrame) -> tuple[Quarter, ...]:
    month = table.sittings["month"].to_numpy()[own["at"].to_numpy(dtype=int)]
    rows = own.assign(month=month).dropna(subset=["month"])
    if rows.empty:
        return ()
    number = rows["month"].str[5:7].astype(int)
    rows = rows.assign(quarter=rows["month"].str[:4] + " " + ((number - 1) // 3).astype(str))
    found = []
    for name, some in rows.groupby("quarter", sort=True):
        year, place = str(name).split(" ")
        right, answers = int(some["right"].sum()), int(some["assessed"].sum())
        found.append(
            Quarter(
                f"{QUARTERS[int(place)]} {year}",
                right,
                answers,
                proportion_interval(right, answers),
            )
        )
    return tuple(found[-MOST_PERIODS:])


QUARTERS = ("January to March", "April to June", "July to September", "October to December")


def _change(table: CohortTable, own: pd.DataFrame) -> Estimate | TooLittleEvidence:
    """Compare the later with the earlier sittings, half of the person's sittings each."""
    when = table.sittings["started"].to_numpy()[own["at"].to_numpy(dtype=int)]
    rows = own.assign(when=when).sort_values("when", kind="stable")
    sat = rows["sitting"].drop_duplicates().tolist()
    early = rows[rows["sitting"].isin(sat[: len(sat) // 2])]
    late = rows[rows["sitting"].isin(sat[(len(sat) + 1) // 2 :])]
    least = int(min(early["assessed"].sum(), late["assessed"].sum()))
    if least < FEWEST_ANSWERS:
        return TooLittleEvidence(
            "answers",
            f"Only {least} answers in one half of the time; at least {FEWEST_ANSWERS} are needed.",
            int(rows["assessed"].sum()),
        )
    return difference_interval(
        int(late["right"].sum()),
        int(late["assessed"].sum()),
        int(early["right"].sum()),
        int(early["assessed"].sum()),
    )
