"""Whether the rate of wrong decisions is steady from month to month, at each step.

Months differ in which scenarios were sat, and scenarios differ in how hard they
are. Where scenarios come again in other months, that part is taken out first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2  # type: ignore[import-untyped]

from scoring.cohort.answers_in_time import AnswersInTime, Floats, month_name
from scoring.evidence import TooLittleEvidence
from scoring.model import STATIONS, Station
from scoring.variation.chart import ControlChart
from scoring.variation.control_charts import control_chart
from scoring.variation.run_rules import BEYOND, EIGHT_IN_A_ROW

MOST_MONTHS = 36
"""The last months that are charted: more points no longer stand apart on a sheet of A4. A working
judgement; earlier months are left out and the text says so."""

ENOUGH_AGAIN = 0.8
"""Share of a step's decisions whose scenario was sat in more than one month, from which on the
rates are made equally hard. Below it most of a month's scenarios stand alone, and taking their
difficulty out would take the month out too. A working judgement, no source."""

OVERDISPERSED = 0.05
"""Chance, under no difference but chance, below which months are said to vary more than counts
do; the chart is then Laney's p'. The usual convention; common practice, no source."""

RULES = (BEYOND, EIGHT_IN_A_ROW)
"""One point outside the limits, or eight in a row on one side: the two rules that a reader can
check by eye. More rules would cry wolf more often. A working judgement, no source."""


@dataclass(frozen=True)
class StationMonths:
    """One step, month by month.

    Attributes
    ----------
    station : Station
    chart : ControlChart or TooLittleEvidence
        Of rates made equally hard where `adjusted`; form ``p`` with exact limits or ``p'``.
    months : tuple of int
        Month numbers, one a point.
    wrong, n : tuple of int
        Wrong decisions and decisions of each month, as counted.
    adjusted : bool
        Whether the difficulty of the scenarios was taken out.
    left_out : int
        Earlier months that are not charted.
    """

    station: Station
    chart: ControlChart | TooLittleEvidence
    months: tuple[int, ...]
    wrong: tuple[int, ...]
    n: tuple[int, ...]
    adjusted: bool
    left_out: int


def monthly(answers: AnswersInTime) -> tuple[StationMonths, ...]:
    """Return the months of each station met, in the order of the work.

    Notes
    -----
    With ``O`` wrong decisions in a month, ``E`` expected from the pooled rates of its scenarios,
    ``n`` decisions and ``s`` the share that the month itself has in those pooled rates, the
    charted count is ``n c + (O - E) / sqrt(1 - s)``, c the rate of all months: its variance is
    that of a count, since ``var(O - E) = V (1 - s)``. Rounded to a whole number, which moves a
    rate by at most ``1 / (2 n)``. p' when the sum of squared z exceeds the chi-square quantile of
    ``1 - OVERDISPERSED`` and Laney's factor is above 1.
    """
    return tuple(_station(answers, station) for station in answers.stations())


def _station(answers: AnswersInTime, station: Station) -> StationMonths:
    rows = answers.station == STATIONS.index(station)
    months = np.unique(answers.month[rows])
    charted = months[-MOST_MONTHS:]
    rows &= answers.month >= charted[0]
    at = np.searchsorted(charted, answers.month[rows])
    scenarios = len(answers.scenarios)
    cell = at * scenarios + answers.scenario[rows]
    shape = (len(charted), scenarios)
    n, wrong = (
        np.bincount(cell, weights[rows], shape[0] * shape[1]).astype(float).reshape(shape)
        for weights in (answers.decisions, answers.wrong)
    )
    again = ((n > 0).sum(axis=0) > 1) @ n.sum(axis=0) / n.sum()
    adjusted = len(charted) > 1 and bool(again >= ENOUGH_AGAIN)
    size, count = n.sum(axis=1), wrong.sum(axis=1)
    counted = _equally_hard(n, wrong) if adjusted else count
    return StationMonths(
        station=station,
        chart=_chart(counted, size, [month_name(int(month)) for month in charted]),
        months=tuple(map(int, charted)),
        wrong=tuple(map(int, count)),
        n=tuple(map(int, size)),
        adjusted=adjusted,
        left_out=len(months) - len(charted),
    )


def _equally_hard(n: Floats, wrong: Floats) -> Floats:
    """Return the count of each month as if all had sat scenarios of the same difficulty."""
    total = n.sum(axis=0)
    rate = np.divide(wrong.sum(axis=0), total, out=np.zeros_like(total), where=total > 0)
    expected, spread = n @ rate, n * rate * (1 - rate)
    own = np.divide(n, total, out=np.zeros_like(n), where=total > 0)
    variance = spread.sum(axis=1)
    share = np.divide(
        (spread * own).sum(axis=1), variance, out=np.zeros_like(variance), where=variance > 0
    )
    apart = np.where(share < 1, 1 - share, 1.0)
    size = n.sum(axis=1)
    centre = wrong.sum() / n.sum()
    counted: Floats = np.clip(
        np.round(size * centre + (wrong.sum(axis=1) - expected) / np.sqrt(apart)), 0, size
    )
    return counted


def _chart(counted: Floats, size: Floats, names: list[str]) -> ControlChart | TooLittleEvidence:
    plain = control_chart(counted, size, "p", labels=names, limits="exact", rules=RULES)
    if isinstance(plain, TooLittleEvidence):
        return plain
    z = np.array([point.z for point in plain.points])
    if chi2.sf(float(z @ z), len(z) - 1) >= OVERDISPERSED:
        return plain
    wide = control_chart(counted, size, "p'", labels=names, rules=RULES)
    if isinstance(wide, ControlChart) and wide.sigma_z > 1:
        return wide
    return plain
