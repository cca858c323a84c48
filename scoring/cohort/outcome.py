"""Outcome by station and by operator code, each with its interval and n."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.stats import t as t_distribution  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable
from scoring.evidence import CONFIDENCE, TooLittleEvidence
from scoring.marking.marks import Verdict
from scoring.model import Station
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.intervals import Interval, wilson
from scoring.variation.operator_means import OperatorMean, operator_means
from scoring.variation.two_way import TwoWay, lay_out

VERDICTS: tuple[Verdict, ...] = ("competent", "borderline", "not yet", "not assessed")
"""Every verdict, best first; the last says that there is no evidence."""


@dataclass(frozen=True, slots=True)
class StationOutcome:
    """What the cohort shows of one station.

    Attributes
    ----------
    station : Station
    mean, low, high : float or None
        Mean share of points over operators, forms weighted equally, 0 to 1, with
        its interval; None where nothing can be said.
    operators, sittings : int
        Operators and finished sittings behind the mean.
    verdicts : dict of Verdict to int
        Sittings by verdict, unfinished ones too.
    critical : Interval or None
        Operators who at least once answered a critical decision unsafely, as a share
        of those who handed anything in. Operators and not sittings are counted,
        because sittings of one person are not independent.
    critical_operators : int
        The count behind it.
    between : BetweenShare or TooLittleEvidence
        How much of the differences lies between operators.
    people : tuple of OperatorMean
        Each operator, sorted by code.
    """

    station: Station
    mean: float | None
    low: float | None
    high: float | None
    operators: int
    sittings: int
    verdicts: dict[Verdict, int]
    critical: Interval | None
    critical_operators: int
    between: BetweenShare | TooLittleEvidence
    people: tuple[OperatorMean, ...]


def station_outcomes(
    table: CohortTable, confidence: float = CONFIDENCE
) -> tuple[StationOutcome, ...]:
    """Return the outcome of each station met, in the order of the work."""
    return tuple(_outcome(table, station, confidence) for station in table.stations_met())


def _outcome(table: CohortTable, station: Station, confidence: float) -> StationOutcome:
    rows = table.stations[table.stations["station"] == station]
    finished = table.finished(station)
    layout = lay_out(
        finished["operator"], finished["form"], finished["share"].to_numpy(dtype=float)
    )
    people = operator_means(layout, confidence=confidence)
    mean, low, high = _mean_over_operators(layout, people, confidence)
    judged = rows[rows["complete"] & (rows["decisions"] > 0)]
    failed = judged[judged["failed_critical"] > 0]["operator"].nunique()
    met = judged["operator"].nunique()
    counts: Mapping[str, int] = rows["verdict"].value_counts().to_dict()
    return StationOutcome(
        station=station,
        mean=mean,
        low=low,
        high=high,
        operators=len(layout.operators),
        sittings=layout.sittings,
        verdicts={verdict: int(counts.get(verdict, 0)) for verdict in VERDICTS},
        critical=wilson(failed, met, confidence) if met else None,
        critical_operators=int(failed),
        between=between_share(layout, confidence),
        people=people,
    )


def _mean_over_operators(
    layout: TwoWay, people: tuple[OperatorMean, ...], confidence: float
) -> tuple[float | None, float | None, float | None]:
    """Return the mean of the operators' means with Student's t interval over operators.

    The operator is the unit that was drawn; the interval over sittings would be
    too narrow, because one person's sittings resemble each other.
    """
    if not people:
        return None, None, None
    means = np.array([person.mean for person in people])
    mean = float(means.mean())
    spread = float(means.std(ddof=1)) if len(means) > 1 else 0.0
    if spread == 0.0:
        return mean, None, None
    half = float(t_distribution.ppf(0.5 + confidence / 2, len(means) - 1)) * spread
    half /= sqrt(len(means))
    return mean, max(0.0, mean - half), min(1.0, mean + half)
