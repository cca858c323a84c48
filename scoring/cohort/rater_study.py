"""Assessors at the real sink: how severe each is, and on which items they agree."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd  # type: ignore[import-untyped]

from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.agreement import ItemsAgreement, PairAgreement, per_item, rater_pairs
from scoring.measurement.d_numbers import Needed, levels_needed
from scoring.measurement.d_study import DStudy, d_study
from scoring.measurement.generalizability import GStudy, g_study
from scoring.measurement.rater_severity import rater_severity
from scoring.measurement.rating_grid import rating_grid_from_long
from scoring.measurement.severity import Flag, RaterSeverity, SeverityStudy
from scoring.model import STATIONS, Station

WANTED = 0.8
"""Dependability wanted of a result at the sink. Common practice, no source."""

MOST_RATERS = 20
"""More assessors at once than this nobody has. A working judgement."""

FEWEST_ALIKE = 2
"""Of two assessors who differ nobody can say which is off, so no fewer are left to compare with."""

CATEGORIES = (0.0, 1.0)
"""Not done, done: the whole scale of an item."""

SMALLEST = 0.05
"""Share of items by which an assessor must be off before he or she is named: less than 1 item in
20 changes hardly any result. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class WatchedStation:
    """What watching at one step is worth.

    Attributes
    ----------
    station : Station or None
        None for all steps together.
    performances, doubled : int
        Performances watched, and those watched by two or more.
    study : GStudy or TooLittleEvidence
        Raters within performance, of the share done: two of each performance that two watched.
    one, two : DStudy or TooLittleEvidence
        With one rater, with two.
    needed : Needed or TooLittleEvidence
        Raters for the wanted dependability of what was seen on that day.
    """

    station: Station | None
    performances: int
    doubled: int
    study: GStudy | TooLittleEvidence
    one: DStudy | TooLittleEvidence
    two: DStudy | TooLittleEvidence
    needed: Needed | TooLittleEvidence


@dataclass(frozen=True)
class RaterStudy:
    """All assessors.

    Attributes
    ----------
    observations, performances, doubled, assessors : int
        Records, performances, those with two records or more, and assessors.
    severity : SeverityStudy or TooLittleEvidence
        Of the share of items done, 0 to 1; above 0 is severe; against the average of all.
    raters : dict of str to RaterSeverity or TooLittleEvidence
        The same against the average of those who are alike, by code. One very lenient assessor
        would otherwise make severe ones of all others.
    agreement : ItemsAgreement or TooLittleEvidence
    pairs : tuple of PairAgreement or TooLittleEvidence
        On items, least agreement first.
    stations : tuple of WatchedStation
    """

    observations: int
    performances: int
    doubled: int
    assessors: int
    severity: SeverityStudy | TooLittleEvidence
    raters: dict[str, RaterSeverity | TooLittleEvidence]
    agreement: ItemsAgreement | TooLittleEvidence
    pairs: tuple[PairAgreement, ...] | TooLittleEvidence
    stations: tuple[WatchedStation, ...]


def rater_study(items: pd.DataFrame, totals: pd.DataFrame) -> RaterStudy:
    """Return how assessors rate.

    Parameters
    ----------
    items, totals : DataFrame
        Of :func:`scoring.cohort.observed.observed_items` and ``observed_totals``.

    Notes
    -----
    Severity compares raters only through performances that more than one watched, so it
    does not matter whom each happened to watch. Each record gives one share: the items of one
    record are not independent, and an analysis by items would claim too much.
    """
    watched = totals.dropna(subset=["share"])
    severity = _severity(watched)
    seen = items.dropna(subset=["done"])
    return RaterStudy(
        observations=len(totals),
        performances=totals["occasion"].nunique(),
        doubled=int((totals.groupby("occasion")["rater"].nunique() > 1).sum()),
        assessors=totals["rater"].nunique(),
        severity=severity,
        raters=_against_the_alike(watched, severity),
        agreement=per_item(
            seen["occasion"].tolist(),
            seen["rater"].tolist(),
            seen["item"].tolist(),
            seen["done"].tolist(),
            categories=CATEGORIES,
        ),
        pairs=_pairs(seen),
        stations=(
            *(
                _station(station, watched[watched["station"] == station])
                for station in STATIONS
                if (watched["station"] == station).any()
            ),
            _station(None, watched),
        ),
    )


def _severity(watched: pd.DataFrame) -> SeverityStudy | TooLittleEvidence:
    if watched.empty:
        return TooLittleEvidence("observations", "Nobody has been watched at the sink yet.")
    return rater_severity(
        watched["share"].to_numpy(dtype=float),
        watched["rater"].tolist(),
        watched["occasion"].tolist(),
    )


def _against_the_alike(
    watched: pd.DataFrame, severity: SeverityStudy | TooLittleEvidence
) -> dict[str, RaterSeverity | TooLittleEvidence]:
    """Take out the flagged rater farthest off, one by one, until the rest are alike or only two."""
    if isinstance(severity, TooLittleEvidence):
        return {}
    codes = {str(code) for code in severity.raters}
    rest, left = severity, watched
    while True:
        known = {str(c): one for c, one in rest.raters.items() if isinstance(one, RaterSeverity)}
        off = {
            code: abs(one.severity.value)
            for code, one in known.items()
            if _scaled_flag(one, len(known)) != "none"
        }
        if not off or len(known) <= FEWEST_ALIKE:
            break
        farthest = max(sorted(off), key=lambda code: off[code])
        fewer = left[left["rater"] != farthest]
        again = _severity(fewer)
        if isinstance(again, TooLittleEvidence):
            break
        rest, left = again, fewer
    alike = set(left["rater"])
    found = {str(code): _scaled(one, rest) for code, one in rest.raters.items()}
    for code in sorted(codes - alike):
        one = _severity(watched[watched["rater"].isin(alike | {code})])
        found[code] = one if isinstance(one, TooLittleEvidence) else _scaled(one.raters[code], one)
    return dict(sorted(found.items()))


def _scaled_flag(one: RaterSeverity, known: int) -> Flag:
    """Return the flag, without those that are sure but too small to matter."""
    return one.flag if abs(one.severity.value) * known >= SMALLEST * (known - 1) else "none"


def _scaled(
    one: RaterSeverity | TooLittleEvidence, study: SeverityStudy
) -> RaterSeverity | TooLittleEvidence:
    """Return a severity against the others, where it was against the average with this rater."""
    known = sum(isinstance(each, RaterSeverity) for each in study.raters.values())
    if isinstance(one, TooLittleEvidence) or known < 2:
        return one
    by, was = known / (known - 1), one.severity
    return replace(
        one,
        flag=_scaled_flag(one, known),
        severity=Estimate(
            by * was.value,
            None if was.low is None else by * was.low,
            None if was.high is None else by * was.high,
            was.n,
            was.confidence,
        ),
        standard_error=by * one.standard_error,
    )


def _pairs(seen: pd.DataFrame) -> tuple[PairAgreement, ...] | TooLittleEvidence:
    if seen.empty:
        return TooLittleEvidence("raters", "Nobody has been watched at the sink yet.")
    unit = seen["occasion"] + " " + seen["item"]
    grid = rating_grid_from_long(
        unit.tolist(), seen["rater"].tolist(), seen["done"].tolist(), categories=CATEGORIES
    )
    return rater_pairs(grid)


def _station(station: Station | None, rows: pd.DataFrame) -> WatchedStation:
    by = rows.groupby("occasion")["rater"].nunique()
    twice = rows[rows["occasion"].isin(by[by > 1].index)]
    study: GStudy | TooLittleEvidence = TooLittleEvidence(
        "doubled", "Nobody was watched by two assessors at once."
    )
    if len(twice):
        # Which two of the assessors come is chance, so they are nested in the performance; with two
        # of each the intervals are exact.
        two = twice.sort_values("rater").groupby("occasion").head(2)
        facets = {"p": two["occasion"].tolist(), "r": two["rater"].tolist()}
        study = g_study(two["share"].tolist(), facets, "r:p")
    counts = (station, len(by), int((by > 1).sum()), study)
    if isinstance(study, TooLittleEvidence):
        return WatchedStation(*counts, study, study, study)
    return WatchedStation(
        *counts,
        d_study(study, {"r": 1}),
        d_study(study, {"r": 2}),
        levels_needed(study, "r", WANTED, most=MOST_RATERS),
    )
