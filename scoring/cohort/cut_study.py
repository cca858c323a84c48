"""Cut scores of the checklists side by side: what each method would ask, and who would pass."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd  # type: ignore[import-untyped]

from scoring.checklist import BORDERLINE
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.borderline import BorderlineRegression, borderline_regression
from scoring.measurement.contrasting_groups import ContrastingGroups, contrasting_groups
from scoring.measurement.standard_setting import SideBySide, side_by_side
from scoring.model import STATIONS, Station

COMPETENT = 4
"""Overall grade from which a performance counts as clearly competent; the grade below it
is neither. A working judgement, no source."""

FEWEST = 20
"""Performances from which a cut is laid through a step at all. A working judgement, no source."""

SAMPLES = 400
"""Bootstrap samples; ends of intervals then move by about a tenth of their width."""

SITE, BORDER, CONTRAST = "the site's cut", "borderline regression", "contrasting groups"


@dataclass(frozen=True)
class StationCuts:
    """The cuts of one step.

    Attributes
    ----------
    station : Station
    performances : int
        With a share of items done and an overall grade; the mean of its assessors.
    people : int
    border : BorderlineRegression or TooLittleEvidence
    groups : ContrastingGroups or TooLittleEvidence
    cuts : dict of str to Estimate, TooLittleEvidence or float
        By method, as shares of items.
    beside : SideBySide or TooLittleEvidence
        What each cut does to these performances.
    """

    station: Station
    performances: int
    people: int
    border: BorderlineRegression | TooLittleEvidence
    groups: ContrastingGroups | TooLittleEvidence
    cuts: dict[str, Estimate | TooLittleEvidence | float]
    beside: SideBySide | TooLittleEvidence


def station_cuts(totals: pd.DataFrame, cut: float) -> tuple[StationCuts, ...]:
    """Return the cuts of each step that was watched, in the order of the work.

    Parameters
    ----------
    totals : DataFrame
        Of :func:`scoring.cohort.observed.observed_totals`.
    cut : float
        The site's share that passes.

    Notes
    -----
    One performance watched by two counts once, with the means of both: else it would
    weigh double, and the line would be flattened less than it is.
    """
    rated = totals.dropna(subset=["share", "overall"])
    each = rated.groupby(["station", "occasion"], as_index=False).agg(
        share=("share", "mean"), overall=("overall", "mean"), operator=("operator", "first")
    )
    return tuple(
        _cuts(station, each[each["station"] == station].sort_values("occasion"), cut)
        for station in STATIONS
        if (each["station"] == station).any()
    )


def _cuts(station: Station, rows: pd.DataFrame, cut: float) -> StationCuts:
    n, people = len(rows), rows["operator"].nunique()
    share = rows["share"].to_numpy(dtype=float)
    grade = rows["overall"].to_numpy(dtype=float)
    if n < FEWEST:
        little = TooLittleEvidence(
            "performances", f"Only {n} performances were graded; at least {FEWEST} are needed.", n
        )
        alone: dict[str, Estimate | TooLittleEvidence | float] = {
            SITE: cut, BORDER: little, CONTRAST: little,
        }  # fmt: skip
        return StationCuts(station, n, people, little, little, alone, little)
    border = borderline_regression(grade, share, borderline=BORDERLINE)
    clear = (grade >= COMPETENT) | (grade <= BORDERLINE)
    groups = contrasting_groups(share[clear], (grade >= COMPETENT)[clear], samples=SAMPLES, seed=1)
    cuts: dict[str, Estimate | TooLittleEvidence | float] = {
        SITE: cut,
        BORDER: border if isinstance(border, TooLittleEvidence) else border.cut,
        CONTRAST: groups.midpoint,
    }
    beside = side_by_side(share, cuts, persons=rows["occasion"].tolist())
    return StationCuts(station, n, people, border, groups, cuts, beside)
