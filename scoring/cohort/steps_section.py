"""The manager's first section: at which steps people differ, and where the risk sits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.catalogue import Mistake
from scoring.cohort.figures import ordered_by_who, outcome_figure, steps_figure
from scoring.cohort.findings import by_share, findings
from scoring.cohort.frequent import frequent_mistakes
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.cohort.parts import part
from scoring.cohort.saying import STATION_WORK, count, number_with_span, with_span
from scoring.cohort.section import Section
from scoring.cohort.step_risk import Kind, StepRisk, kinds_within, step_risks
from scoring.cohort.step_variation import StepVariation, likeliest_to_vary_most
from scoring.cohort.table import CohortTable
from scoring.cohort.table_files import step_sheets
from scoring.evidence import TooLittleEvidence
from scoring.model import Station
from scoring.variation.between import BetweenShare
from scoring.variation.detection_between import DetectionBetween
from scoring.variation.two_way import TwoWay, lay_out

TITLE = "Steps: what depends on who, and where the risk sits"

MOST_MISTAKES = 3
"""Mistakes shown for each step: what a team can work on at one time. A working judgement; the
table file has all."""

HALF = 0.5
"""A step is called a matter of who when the whole interval lies above one half, because then
most of the differences go with the person. A working judgement, no source."""


def steps_section(
    table: CohortTable,
    outcomes: Sequence[StationOutcome],
    steps: Sequence[StepVariation],
    catalogue: Mapping[str, Mistake],
    severity: Mapping[str, int],
) -> Section:
    """Return the section.

    Parameters
    ----------
    table : CohortTable
    outcomes : sequence of StationOutcome
        Scores of each step met.
    steps : sequence of StepVariation
        Decisions of each step met.
    catalogue : mapping of str to Mistake
    severity : mapping of str to int
        The site's own severities.
    """
    mistakes = frequent_mistakes(table, catalogue, severity)
    risks = step_risks(table, catalogue, severity)
    most = likeliest_to_vary_most({o.station: _layout(table, o.station) for o in outcomes})
    found = findings(outcomes, mistakes, steps, risks, most)
    sheets = step_sheets(outcomes, mistakes, steps, risks)
    if not any(outcome.sittings for outcome in outcomes):
        return Section("steps", TITLE, f"<p>{found[0].headline}</p>", found, sheets)
    known = by_share(outcomes)
    first = known[0][0] if known else None
    by_station = {risk.station: risk for risk in risks}
    html = part(
        "steps",
        outcomes=outcomes,
        by_who=ordered_by_who(outcomes),
        decisions={step.station: step for step in steps},
        risks=by_station,
        by_risk=sorted(outcomes, key=lambda o: _rank(by_station[o.station])),
        points_to={outcome.station: points_to(outcome) for outcome in outcomes},
        drawn=steps_figure(outcomes, by_station),
        results=outcome_figure(outcomes),
        kinds=kinds_within(table, first, catalogue) if first else (),
        kinds_of=STATION_WORK[first] if first else "",
        kinds_said=_kind_said,
        measured=[line for step in steps for line in _measures(step)],
        verdicts=VERDICTS,
        mistakes=mistakes,
        most_mistakes=MOST_MISTAKES,
    )
    return Section("steps", TITLE, html, found, sheets)


def points_to(outcome: StationOutcome) -> str:
    """Say what the between-operator figure of a step points to, or what is missing."""
    between = outcome.between
    if not isinstance(between, BetweenShare):
        return between.said
    if between.low > HALF:
        return (
            "More than half goes with the person. Find out how those with few mistakes work, and "
            "let the others practise it."
        )
    if between.high < HALF:
        return (
            "Less than half goes with the person. Where results are low, look at the step first: "
            "instructions, tools, light, time."
        )
    return (
        "Perhaps half goes with the person; the interval holds one half. Work on both: let people "
        "practise, and look at the step."
    )


def _layout(table: CohortTable, station: Station) -> TwoWay:
    rows = table.finished(station)
    return lay_out(rows["operator"], rows["form"], rows["share"].to_numpy(dtype=float))


def _rank(risk: StepRisk) -> float:
    return -risk.weighted.value if risk.weighted else 0.0


def _kind_said(kind: Kind) -> str:
    return number_with_span(kind.odds_ratio, 1) if kind.odds_ratio else "too little evidence"


def _measures(step: StepVariation) -> list[tuple[Station, str, str, str]]:
    """Return step, what is measured, what lies between operators, and what that rests on."""
    lines = []
    for measured in step.measured:
        between = measured.between
        if isinstance(between, BetweenShare):
            said = with_span(between.share, between.low, between.high)
            rests = f"{count(between.operators, 'operator')}, {count(between.sittings, 'scenario')}"
        else:
            said, rests = between.said, count(between.n, "operator")
        lines.append((step.station, measured.name, said, rests))
    if isinstance(step.detection, DetectionBetween):
        lines.append(
            (
                step.station,
                "telling soiled from clean (d-prime: 0 is guessing, 3 nearly faultless)",
                f"mean {number_with_span(step.detection.d_prime_mean, 1)}; standard deviation "
                f"between operators {number_with_span(step.detection.d_prime_sd, 1)}",
                count(step.detected, "operator"),
            )
        )
    elif isinstance(step.detection, TooLittleEvidence):
        lines.append((step.station, "telling soiled from clean", step.detection.said,
                      count(step.detected, "operator")))  # fmt: skip
    return lines
