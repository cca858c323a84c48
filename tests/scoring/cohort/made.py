"""Sittings made by hand for the tests: real mark objects with chosen credits, no answers behind.

They go through a real index, in memory, into the tables of a cohort.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from scoring import KIT_VERSION
from scoring.attempt import Close, Header
from scoring.cohort.reading import read_decisions, read_sittings, read_table
from scoring.cohort.table import CohortTable
from scoring.marking.marks import DecisionMark, SittingMarks
from scoring.marking.station import station_result
from scoring.model import Station
from scoring.records.index import Index, Marked
from scoring.records.reading import ReadLog

MISTAKES: Mapping[Station, str] = {
    "ready": "M01",
    "soak": "M20",
    "brush": "M33",
    "rinse": "M50",
    "inspect": "M60",
}
CUT = 0.8
START = datetime(2025, 3, 3, 8, 0, tzinfo=UTC)


def made_header(one: SittingMarks, started: datetime, purpose: str = "exam") -> Header:
    form, _, version = one.form.rpartition("_v")
    return Header.model_validate(
        {
            "kit": KIT_VERSION,
            "sitting": one.sitting,
            "operator": one.operator,
            "purpose": purpose,
            "form": form or one.form,
            "form_version": int(version) if form else 1,
            "form_digest": "f" * 64,
            "site": "invented-bays",
            "site_digest": "5" * 64,
            "language": "en",
            "scenarios": (),
            "started": started,
        }
    )


def made_log(one: SittingMarks, started: datetime) -> ReadLog:
    """A log of no answers, handed in if the sitting is complete."""
    close = Close(seq=1, at=started, answers=0, previous="0" * 64) if one.complete else None
    return ReadLog(made_header(one, started), (), (), close, None, 0, "0" * 64)


def tabulate(marks: Iterable[SittingMarks]) -> CohortTable:
    """The tables of these sittings, all of them: none counts more than another."""
    index = Index("sqlite://")
    index.store(
        Marked(made_log(one, START + timedelta(minutes=number)), one)
        for number, one in enumerate(marks)
    )
    rows = read_sittings(index)
    table = read_table(index, rows)
    decisions = read_decisions(index, rows)
    index.close()
    return replace(table, read_decisions=lambda: decisions)


def sitting(
    operator: str,
    form: str,
    credits: Mapping[Station, Iterable[float | None]],
    *,
    complete: bool = True,
    mistakes: Mapping[Station, str] = MISTAKES,
    name: str = "",
) -> SittingMarks:
    """One sitting; a credit of None is a decision without an answer."""
    decisions: list[DecisionMark] = []
    for station, given in credits.items():
        for place, credit in enumerate(given):
            assessed = credit is not None
            right = assessed and credit == 1.0
            decisions.append(
                DecisionMark(
                    scenario=f"{form}-{station}",
                    decision=f"d{place}",
                    station=station,
                    assessed=assessed,
                    credit=credit or 0.0,
                    maximum=1.0,
                    reason="right" if right else "wrong" if assessed else "unanswered",
                    mistakes=() if right or not assessed else (mistakes[station],),
                    unsafe=assessed and credit == 0.0,
                    critical=place == 0,
                )
            )
    results = tuple(
        station_result(station, [mark for mark in decisions if mark.station == station], CUT)
        for station in credits
    )
    return SittingMarks(
        sitting=name or f"sitting-{form}-{operator}".lower(),
        operator=operator,
        form=form,
        complete=complete,
        decisions=tuple(decisions),
        stations=results,
    )


def department(
    spread: Mapping[Station, float],
    *,
    operators: int = 24,
    forms: int = 4,
    level: float = 1.0,
    decisions: int = 6,
    seed: int = 1,
) -> list[SittingMarks]:
    """A department whose operators differ by `spread` on the logit scale, station by station."""
    rng = np.random.default_rng(seed)
    ability = {station: sd * rng.normal(size=operators) for station, sd in spread.items()}
    return [
        sitting(
            f"OP-{101 + person}",
            f"form_v{form}",
            {
                station: [
                    float(rng.random() < 1 / (1 + math.exp(-level - values[person])))
                    for _ in range(decisions)
                ]
                for station, values in ability.items()
            },
        )
        for person in range(operators)
        for form in range(1, forms + 1)
    ]
