"""Sittings made by hand for the tests: real mark objects with chosen credits, no answers behind."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from scoring.marking.marks import DecisionMark, SittingMarks
from scoring.marking.station import station_result
from scoring.model import Station

MISTAKES: Mapping[Station, str] = {
    "ready": "M01",
    "soak": "M20",
    "brush": "M33",
    "rinse": "M50",
    "inspect": "M60",
}
CUT = 0.8


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
        sitting=name or f"{form}-{operator}".lower(),
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
