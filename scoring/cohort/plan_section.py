"""The manager's plan: what everybody practises, who practises what, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.cohort.parts import part
from scoring.cohort.practice import By, Practice, by_whom, for_everybody, risk_by_step
from scoring.cohort.saying import STATION_NAMES, STATION_WORK, count, listed, percent
from scoring.cohort.section import Finding, Section, Sheet
from scoring.cohort.step_variation import StepVariation
from scoring.model import Station
from scoring.variation.practice_plan import EACH, PlanLine, UnseenLine

TITLE = "Plan: what to practise, and who"

MOST_LINES = 24
"""Lines printed: about one sheet. A working judgement; the file has all."""

MOST_UNSEEN = 8
"""Lines printed of what nobody could judge. A working judgement; the file has all."""

WHO: Mapping[By, str] = {
    "everybody": "Everybody, and mend the step: even a strong operator is above the limit.",
    "some": "Those named below: a strong operator is below the limit, a weak one above it.",
    "both": "Those named below first. Whether a strong operator is above the limit is not sure, "
    "so look at the step too.",
    "nobody": "Nobody in particular: even a weak operator is not above the limit.",
    "unknown": "Too little evidence.",
}


def plan_section(
    practice: Practice, steps: Sequence[StepVariation], limit: float | None
) -> Section:
    """Return the section.

    Parameters
    ----------
    practice : Practice
    steps : sequence of StepVariation
    limit : float or None
        Highest rate of wrong decisions that the department bears.
    """
    plan = practice.plan
    shares = risk_by_step(practice, steps)
    found = _finding(practice, steps, limit)
    html = part(
        "plan",
        found=found,
        steps=[
            (step.station, step.range, WHO[by_whom(step, limit)], shares[step.station])
            for step in sorted(steps, key=lambda step: (_order(step, limit), -shares[step.station]))
        ],
        together=practice.together,
        texts=practice.texts,
        lines=[_shown(practice, line) for line in _by_code(plan.lines[:MOST_LINES])],
        more=max(0, len(plan.lines) - MOST_LINES),
        unseen=[(one, practice.station[one.scenario]) for one in plan.unseen[:MOST_UNSEEN]],
        more_unseen=max(0, len(plan.unseen) - MOST_UNSEEN),
        missing=plan.too_little.said if plan.too_little else "",
        gain=plan.gain,
        each=EACH,
        limit=limit,
        readable=readable,
        people=practice.people,
    )
    return Section("plan", TITLE, html, (found,), (_sheet(practice), _unseen_sheet(practice)))


def readable(scenario: str, station: Station) -> str:
    """Return a scenario's id as words, without the step that stands beside it."""
    for start in ("exam-", "sample-", f"{station}-"):
        scenario = scenario.removeprefix(start)
    return scenario.replace("-", " ")


def _by_code(lines: Sequence[PlanLine]) -> list[PlanLine]:
    """Return lines by code: a plan is no ranking of people."""
    return sorted(lines, key=lambda line: (line.operator, -line.reduction, line.scenario))


def _order(step: StepVariation, limit: float | None) -> int:
    return ("everybody", "both", "some", "nobody", "unknown").index(by_whom(step, limit))


def _shown(practice: Practice, line: PlanLine) -> tuple[PlanLine, Station, str]:
    return (
        line,
        practice.station[line.scenario],
        "; ".join(practice.texts.get(line.scenario, ())),
    )


def _finding(practice: Practice, steps: Sequence[StepVariation], limit: float | None) -> Finding:
    plan = practice.plan
    everybody = [STATION_WORK[station] for station in for_everybody(steps, limit)]
    first = f"Everybody practises {listed(everybody)}, and that step is mended" if everybody else ""
    if plan.too_little or not plan.lines:
        said = plan.too_little.said if plan.too_little else "Too few answers of each person."
        headline = first or "No practice plan can be made yet"
        return Finding("plan", f"{headline}.", f"No plan by person: {said}")
    people = len({line.operator for line in plan.lines})
    taken = sum(line.practices for line in plan.lines)
    own = f"{count(people, 'operator')} practise up to {EACH} scenarios of their own"
    headline = f"{first}; {own}." if first else f"No step needs everybody; {own}."
    support = (
        f"These {count(taken, 'practice')} are expected to take away "
        f"{percent(plan.reduction / plan.risk)} of the risk at {'the other' if first else 'all'} "
        "steps (severity times the probability of a wrong decision)."
    )
    if plan.gain.odds is None:
        support += (
            f" That rests on an assumption: one practice takes away {percent(plan.gain.share)} "
            "of the wrong decisions at what was practised."
        )
    return Finding("plan", headline, support)


def _sheet(practice: Practice) -> Sheet:
    return Sheet(
        "practice-plan",
        ("operator", "step", "scenario", "practices", "probability_wrong", "low", "high", "wrong",
         "decisions", "severity", "risk", "expected_reduction", "mistakes", "reason"),
        tuple(
            (line.operator, practice.station[line.scenario], line.scenario, line.practices,
             line.failure.value, line.failure.low, line.failure.high, line.failures,
             line.failure.n, line.severity, line.risk, line.reduction, " ".join(line.mistakes),
             line.said)
            for line in practice.plan.lines
        ),
    )  # fmt: skip


def _unseen_sheet(practice: Practice) -> Sheet:
    def row(one: UnseenLine) -> tuple[object, ...]:
        step = STATION_NAMES[practice.station[one.scenario]]
        return (one.operator, step, one.scenario, one.answers, one.severity, one.said)

    return Sheet(
        "never-assessed",
        ("operator", "step", "scenario", "decisions", "severity", "reason"),
        tuple(row(one) for one in practice.plan.unseen),
    )
