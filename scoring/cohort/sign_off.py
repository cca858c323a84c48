"""How long a sign-off should last: what the time between two sittings lets the data say.

Forgetting shows only where people come back after a long time. Where everybody sits
each month, no curve may be drawn beyond a month or two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scoring.cohort.answers_in_time import AnswersInTime, Floats
from scoring.cohort.saying import STATION_NAMES, count
from scoring.cohort.section import Finding
from scoring.evidence import TooLittleEvidence
from scoring.model import STATIONS, Station
from scoring.site import PassRules

DAYS_A_MONTH = 30.4375
"""Mean length of a month, days, of the Julian year."""

LONG_GAP = 3.0
"""Months without a sitting from which on forgetting can be looked for: shorter gaps are those of a
running programme. A working judgement, no source."""

LEAST_RETURNS = 30
"""Returns after such a gap that a curve needs: with 30, each of five decisions, a fall by a quarter
of the right ones would just show. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Lasting:
    """What one step's gaps say.

    Attributes
    ----------
    station : Station
    returns, long : int
        Times somebody sat the step again, and those after `LONG_GAP` months or more.
    longest : float
        Longest gap, months; 0 without a return.
    little : TooLittleEvidence
        Why no length can be proposed from the data.
    """

    station: Station
    returns: int
    long: int
    longest: float
    little: TooLittleEvidence


def gaps(answers: AnswersInTime, station: Station) -> Floats:
    """Return the months between each sitting of a station and the same person's one before."""
    rows = answers.station == STATIONS.index(station)
    day = answers.day[rows].astype(np.int64)
    once = np.unique(np.stack([answers.operator[rows], day], axis=1), axis=0)
    same = once[1:, 0] == once[:-1, 0]
    months: Floats = np.diff(once[:, 1])[same] / DAYS_A_MONTH
    return months


def sign_offs(answers: AnswersInTime) -> tuple[Lasting, ...]:
    """Return what each station met says, in the order of the work."""
    return tuple(_lasting(answers, station) for station in answers.stations())


def _lasting(answers: AnswersInTime, station: Station) -> Lasting:
    months = gaps(answers, station)
    long = int((months >= LONG_GAP).sum())
    longest = float(months.max(initial=0.0))
    if not len(months):
        said = "Nobody has sat it twice."
    else:
        said = (
            f"Of {count(len(months), 'return')} {long} came after {LONG_GAP:.0f} months or more; "
            f"at least {LEAST_RETURNS} are needed. The longest gap was {longest:.1f} months."
        )
    return Lasting(station, len(months), long, longest, TooLittleEvidence("gaps", said, long))


def expiry_found(rows: tuple[Lasting, ...], rules: PassRules) -> Finding:
    """Say how long a sign-off should last, or what would be needed to say it."""
    longest = max((row.longest for row in rows), default=0.0)
    came = (
        f"Nobody came back to a step after more than {longest:.1f} months."
        if longest > 0
        else "Nobody has sat a step twice."
    )
    return Finding(
        "expiry",
        "The data cannot tell how fast the work is forgotten.",
        f"{came} To know, at least {LEAST_RETURNS} returns to a step after {LONG_GAP:.0f} months "
        "or more are needed: for example, let a third of the people sit again after three months, "
        f"a third after six and a third after nine. Until then the department's own rule of "
        f"{count(rules.expiry_months, 'month')} stands; nothing here speaks for or against it.",
    )


def expiry_rows(rows: tuple[Lasting, ...]) -> list[dict[str, str]]:
    """Return the lines of the table by step; empty where the one sentence says it all."""
    if not any(row.long for row in rows):
        return []
    return [
        {
            "step": STATION_NAMES[row.station],
            "proposal": "the data cannot tell",
            "why": row.little.said,
        }
        for row in rows
    ]
