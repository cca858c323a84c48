"""How long a sign-off should last: what the time between two sittings lets the data say.

Forgetting shows only where people come back after a long time. Where everybody sits
each month, no curve may be drawn beyond a month or two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scoring.cohort.answers_in_time import AnswersInTime, Floats, Ints, mix_of
from scoring.cohort.saying import STATION_NAMES, count, percent
from scoring.cohort.section import Finding
from scoring.evidence import TooLittleEvidence
from scoring.model import STATIONS, Station
from scoring.site import PassRules
from scoring.variation.forgetting import Expiry, ForgettingCurve, Limit, forgetting_curve

DAYS_A_MONTH = 30.4375
"""Mean length of a month, days, of the Julian year."""

LONG_GAP = 3.0
"""Months without a sitting from which on forgetting can be looked for: shorter gaps are those of a
running programme. A working judgement, no source."""

STEP_MONTHS = 0.5
"""Gaps are counted in steps of this many months, so that cost grows with people and not with days.
A working judgement."""

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
    curve : ForgettingCurve or TooLittleEvidence
    """

    station: Station
    returns: int
    long: int
    longest: float
    curve: ForgettingCurve | TooLittleEvidence

    @property
    def proposal(self) -> Expiry | None:
        """The stricter proposal, kept by `MOST_OPERATORS`; None where the data cannot tell."""
        if isinstance(self.curve, TooLittleEvidence) or self.curve.most.months is None:
            return None
        return self.curve.most


def sign_offs(answers: AnswersInTime, rules: PassRules) -> tuple[Lasting, ...]:
    """Return what each station met says, in the order of the work.

    Parameters
    ----------
    answers : AnswersInTime
    rules : PassRules
        The rate wanted of decisions is its cut, and no proposal is longer than its expiry.
    """
    return tuple(_lasting(answers, station, rules) for station in answers.stations())


def _lasting(answers: AnswersInTime, station: Station, rules: PassRules) -> Lasting:
    here = answers.station == STATIONS.index(station)
    day = answers.day[here].astype(np.int64)
    # One number for a person and a day, so that sorting is quick.
    reach = int(day.max()) - int(day.min()) + 1
    once, at = np.unique(answers.operator[here] * reach + day - day.min(), return_inverse=True)
    same = np.zeros(len(once), dtype=bool)
    same[1:] = once[1:] // reach == once[:-1] // reach
    months = np.full(len(once), np.nan)
    months[same] = np.diff(once, prepend=0)[same] / DAYS_A_MONTH
    returned = months[same]
    long = int((returned >= LONG_GAP).sum())
    longest = float(returned.max(initial=0.0))
    if long >= LEAST_RETURNS:
        return Lasting(
            station, len(returned), long, longest,
            _curve(answers, np.flatnonzero(here), months[at], rules),
        )  # fmt: skip
    said = (
        f"Of {count(len(returned), 'return')} {long} came after {LONG_GAP:.0f} months or more; "
        f"at least {LEAST_RETURNS} are needed. The longest gap was {longest:.1f} months."
        if len(returned)
        else "Nobody has sat it twice."
    )
    return Lasting(station, len(returned), long, longest, TooLittleEvidence("gaps", said, long))


def _curve(
    answers: AnswersInTime, here: Ints, months: Floats, rules: PassRules
) -> ForgettingCurve | TooLittleEvidence:
    """Fit the curve to counts by operator and month away; first sittings have no gap."""
    back = ~np.isnan(months)
    used = np.zeros(len(answers.at), dtype=bool)
    used[here[back]] = True
    away = np.round(months[back] / STEP_MONTHS).astype(np.int64)
    size = int(away.max()) + 1
    cells, at = np.unique(answers.operator[used] * size + away, return_inverse=True)
    n = np.bincount(at, answers.decisions[used])
    wrong = np.bincount(at, answers.wrong[used])
    operator, steps = np.divmod(cells, size)
    mix = mix_of(answers, used, at)
    return forgetting_curve(
        n - wrong,
        n,
        months=steps * STEP_MONTHS,
        operators=np.array(answers.operators, dtype=object)[operator].tolist(),
        wanted=rules.cut,
        expiry_months=float(rules.expiry_months),
        fixed={"mix": mix} if mix else None,
    )


def expiry_found(rows: Sequence[Lasting], rules: PassRules) -> Finding:
    """Say how long a sign-off should last, or what would be needed to say it.

    Parameters
    ----------
    rows : sequence of Lasting
    rules : PassRules
    """
    stands = (
        f"the department's own rule of {count(rules.expiry_months, 'month')} stands; nothing here "
        "speaks for or against it."
    )
    told = [(row, row.proposal) for row in rows if row.proposal]
    if told:
        row, first = min(told, key=lambda pair: pair[1].months.value if pair[1].months else 0.0)
        others = len(rows) - len(told)
        rest = (
            f" For {count(others, 'other step')} the data cannot tell; there {stands}"
            if others
            else ""
        )
        return Finding(
            "expiry",
            f"{STATION_NAMES[row.station]} fades first: a sign-off there should last "
            f"{proposal_said(first)}.",
            f"{first.said} That is {percent(rules.cut)} of decisions right, the department's pass "
            f"mark.{rest} People who stayed away may differ from the others in more than the time.",
        )
    if any(row.long >= LEAST_RETURNS for row in rows):
        return Finding(
            "expiry",
            "The data do not show that the work is forgotten.",
            f"Some came back after {max(row.longest for row in rows):.1f} months, but their "
            f"results do not settle it either way. Until they do, {stands}",
        )
    longest = max((row.longest for row in rows), default=0.0)
    came = (
        f"Only {sum(row.long for row in rows)} of {sum(row.returns for row in rows):,} returns "
        f"to a step came after {LONG_GAP:.0f} months or more; the longest gap was {longest:.1f} "
        "months."
        if longest > 0
        else "Nobody has sat a step twice."
    )
    return Finding(
        "expiry",
        "The data cannot tell how fast the work is forgotten.",
        f"{came} To know, {LEAST_RETURNS} such returns to each step are needed: for example, let a "
        "third of the people sit again after three months, a third after six and a third after "
        f"nine. Until then {stands}",
    )


def expiry_rows(rows: Sequence[Lasting]) -> list[dict[str, str]]:
    """Return the lines of the table by step; empty where one sentence says it for all."""
    if not any(row.long >= LEAST_RETURNS for row in rows):
        return []
    return [
        {
            "step": STATION_NAMES[row.station],
            "proposal": proposal_said(row.proposal) if row.proposal else "the data cannot tell",
            "why": row.curve.said
            if isinstance(row.curve, TooLittleEvidence)
            else f"{row.curve.most.said} {count(row.returns, 'return')}, {row.long} of them after "
            f"{LONG_GAP:.0f} months or more.",
        }
        for row in rows
    ]


def proposal_said(found: Expiry) -> str:
    """Return a proposal as months with its interval: ``5 months (3 to 8)``."""
    months = found.months
    if months is None:
        return "the data cannot tell"
    if found.limit is Limit.BELOW:
        return "no time: practise first"
    ends = (
        ""
        if months.low is None or months.high is None
        else f" (95 % interval {months.low:.0f} to {months.high:.0f})"
    )
    bound = " at most" if found.limit in (Limit.SITE, Limit.DATA) else ""
    return f"{count(round(months.value), 'month')}{bound}{ends}"
