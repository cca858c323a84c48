"""The trainer's page, part four: which share of items should pass, method beside method."""

from __future__ import annotations

from collections.abc import Sequence

from scoring.checklist import BORDERLINE
from scoring.cohort.cut_study import BORDER, COMPETENT, SITE, StationCuts, station_cuts
from scoring.cohort.observed import observed_totals
from scoring.cohort.partial import ends, filled, rate, value
from scoring.cohort.saying import STATION_NAMES, count
from scoring.cohort.section import Finding, Section, Sheet
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.standard_setting import SideBySide
from scoring.observation import Observation
from scoring.spreadsheet import Row

ID, TITLE = "cut-scores", "Cut scores: what should pass at the sink?"

HEAD = (
    "station", "method", "performances", "cut (%)", "cut low (%)", "cut high (%)",
    "would pass", "would pass (%)", "would pass at the upper end (%)",
    "would pass at the lower end (%)", "change sides against the site's cut",
)  # fmt: skip


def cut_scores_section(observations: Sequence[Observation], cut: float) -> Section:
    """Return the part of the page on the cut scores.

    Parameters
    ----------
    observations : sequence of Observation
        May be empty.
    cut : float
        The site's share that passes.
    """
    steps = station_cuts(observed_totals(observations), cut)
    html = filled(
        "cut_scores",
        {
            "steps": [(one, _lines(one)) for one in steps],
            "cut": cut,
            "grades": (BORDERLINE, COMPETENT),
            "watched": bool(observations),
        },
    )
    sheet = Sheet("cut-scores", HEAD, _rows(steps))
    return Section(ID, TITLE, html, _findings(steps, cut), (sheet,))


Cut = Estimate | TooLittleEvidence | float
Line = tuple[str, Cut, int | None, tuple[float, float] | None, int | None]


def _lines(one: StationCuts) -> list[Line]:
    """Return for each method: its cut, who passes, at its ends, and who changes sides."""
    if not isinstance(one.beside, SideBySide):
        return [(method, cut, None, None, None) for method, cut in one.cuts.items()]
    by = {each.method: each for each in one.beside.consequences}
    site = set(by[SITE].passing)
    found: list[Line] = []
    for method, cut in one.cuts.items():
        if isinstance(cut, TooLittleEvidence):
            found.append((method, cut, None, None, None))
            continue
        each = by[method]
        changed = None if method == SITE else len(site ^ set(each.passing))
        found.append((method, cut, len(each.passing), each.share_over_cut, changed))
    return found


def _findings(steps: Sequence[StationCuts], cut: float) -> tuple[Finding, ...]:
    """Say at which steps the assessors' grades and the site's cut surely differ, in one finding."""
    said = []
    for one in steps:
        border = one.cuts[BORDER]
        if not isinstance(border, Estimate) or border.low is None or border.high is None:
            continue
        if not border.low <= cut <= border.high:
            changed = next(line[4] for line in _lines(one) if line[0] == BORDER)
            said.append(
                f"{STATION_NAMES[one.station]} {rate(border)}, {changed or 0} of "
                f"{count(one.performances, 'performance')} would change sides"
            )
    if not said:
        return ()
    return (
        Finding(
            "cuts",
            f"At {count(len(said), 'step')} the assessors' own grades ask for another share at the "
            f"sink than the site's cut of {round(100 * cut)} %.",
            f"Borderline regression: {'; '.join(said)}. That is no reason to ask for less: the "
            "figures do not say which cut protects patients. People who know the work must decide.",
        ),
    )


def _rows(steps: Sequence[StationCuts]) -> list[Row]:
    rows: list[Row] = []
    for one in steps:
        for method, cut, passing, at_ends, changed in _lines(one):
            figure = cut if isinstance(cut, float) else value(cut)
            low, high = (None, None) if isinstance(cut, float) else ends(cut)
            upper, lower = at_ends or (None, None)
            share = None if passing is None else passing / one.performances
            rows.append((
                one.station, method, one.performances, *map(_percent, (figure, low, high)),
                passing, *map(_percent, (share, upper, lower)), changed,
            ))  # fmt: skip
    return rows


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share
