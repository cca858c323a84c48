"""One person's own page: one sheet, fair to the person, in plain words; nobody else is on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.catalogue import mistakes as catalogue_of_mistakes
from scoring.cohort.observed import observed_totals
from scoring.cohort.own_results import (
    FEWEST_ANSWERS,
    FEWEST_OTHERS,
    OwnResults,
    OwnStep,
    own_results,
)
from scoring.cohort.partial import ends, figure, filled, value
from scoring.cohort.practice import practice
from scoring.cohort.saying import STATION_NAMES, STATION_WORK, count, listed
from scoring.cohort.section import Finding, Section, Sheet
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.model import Station
from scoring.observation import Observation
from scoring.site import SiteValues
from scoring.spreadsheet import Row

MISTAKES_SHOWN = 4
"""Mistakes on the sheet: what one person can work on. A working judgement."""

NEXT_SHOWN = 3
"""What to practise next. A working judgement."""

BEST_SHOWN = 2
"""Steps named as going well."""

GOOD = 0.7
"""Share right from which a second step is named as going well. A working judgement."""

HEAD = (
    "station", "right", "answers", "right (%)", "low (%)", "high (%)",
    "8 of 10 others from (%)", "8 of 10 others to (%)",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Next:
    """What to practise: the step, the mistake to get rid of, what is right, and why."""

    station: Station
    mistake: str
    right_action: str
    why: str


def person_sections(
    table: CohortTable, observations: Sequence[Observation], code: str, site: SiteValues
) -> tuple[Section, ...]:
    """Return the parts of one person's page; together they fill one sheet of A4.

    Parameters
    ----------
    table : CohortTable
        Of the whole department: the sheet says what 8 of 10 others lie between.
    observations : sequence of Observation
        Of everybody; only this person's are used.
    code : str
        The operator's code. Nobody with this code: one part that says so.
    site : SiteValues
    """
    own = own_results(table, code, catalogue_of_mistakes(), site.severity)
    if not own.sittings:
        html = filled("person_none", {"code": code})
        return (Section("nothing-yet", "Nothing to show yet", html),)
    todo = _next(table, own, site)
    good = well(own)
    parts = {
        "own": own,
        "good": good,
        "steps": [(step, where(step)) for step in own.steps],
        "mistakes": own.mistakes[:MISTAKES_SHOWN],
        "more_mistakes": max(0, len(own.mistakes) - MISTAKES_SHOWN),
        "looking": looking_said(own),
        "change": change_said(own),
        "todo": todo,
        "sink": _sink(observations, code),
        "fewest": FEWEST_ANSWERS,
        "fewest_others": FEWEST_OTHERS,
    }
    titles = (
        ("well", "What goes well"),
        ("own-steps", "Step by step"),
        ("own-mistakes", "Most frequent mistakes, and what is right"),
        ("next", "Practise next"),
        ("progress", "Finding soil, and over time"),
        ("limits", "What this sheet cannot tell"),
    )
    found = {
        "well": (Finding("well", good[0], f"{own.sittings} exam sittings."),),
        "next": tuple(
            Finding(
                "next",
                f"Practise next: {STATION_NAMES[one.station]}, {one.right_action}.",
                one.why,
            )
            for one in todo[:1]
        ),
    }
    sheets = {"own-steps": (Sheet("own-steps", HEAD, _rows(own)),)}
    return tuple(
        Section(name, title, filled("person", {**parts, "part": name}),
                found.get(name, ()), sheets.get(name, ()))
        for name, title in titles
    )  # fmt: skip


def well(own: OwnResults) -> tuple[str, ...]:
    """Return what goes well, the best first; there is always something to say."""
    known = [step for step in own.steps if isinstance(step.rate, Estimate) and step.right]
    best = sorted(known, key=lambda step: -(value(step.rate) or 0.0))[:BEST_SHOWN]
    best = [step for step in best if step == best[0] or (value(step.rate) or 0.0) >= GOOD]
    said = [
        f"{STATION_NAMES[step.station]}: {step.right} of {step.answers} decisions right."
        for step in best
    ]
    if not said:
        right = sum(step.right for step in own.steps)
        answers = sum(step.answers for step in own.steps)
        said.append(f"{right} of {answers} decisions right.")
    if not own.unsafe:
        said.append("No answer that could hurt anybody.")
    return tuple(said)


def where(step: OwnStep) -> str:
    """Return how a step's rate stands beside the others', in words; never as a rank."""
    if isinstance(step.rate, TooLittleEvidence):
        return f"Too little evidence. {step.rate.said}"
    if step.others is None:
        return "No range: too few others."
    low, high = ends(step.rate)
    if low is None or high is None:
        return "No range."
    if high < step.others[0]:
        return "Surely below this range: practise here."
    if low > step.others[1]:
        return "Surely above this range."
    if step.rate.value < step.others[0]:
        return "Below this range, perhaps by chance."
    return "Within or near this range."


def looking_said(own: OwnResults) -> tuple[str, ...]:
    """Return what marking soiled places shows, in plain words."""
    found = own.looking
    if isinstance(found, TooLittleEvidence):
        return (f"Too little evidence. {found.said}",)
    hits = round(found.hit_rate.value * found.signals)
    alarms = round(found.false_alarm_rate.value * found.noises)
    d, c = found.d_prime, found.criterion
    said = [
        f"You found {hits} of {found.signals} soiled places, and marked {alarms} of "
        f"{found.noises} clean places as soiled.",
        f"How well you tell soiled from clean (d-prime): {figure(d, 1)}. 0 is guessing; above 2 "
        "few mistakes are left.",
    ]
    lean = f" The criterion is {figure(c, 1)}; above 0 means marking too little."
    if c.low is not None and c.low > 0:
        said.append(
            f"You miss more than you mark for nothing.{lean} A missed place can reach a patient: "
            "when in doubt, mark it and clean again."
        )
    elif c.high is not None and c.high < 0:
        said.append(
            f"You mark clean places rather than miss soiled ones.{lean} That is the safe side; it "
            "costs time. Look again with lens and light before you send something back."
        )
    else:
        said.append(f"No sure lean to either side.{lean}")
    return tuple(said)


def change_said(own: OwnResults) -> str:
    """Return whether the later half differs from the earlier one."""
    found = own.change
    if isinstance(found, TooLittleEvidence):
        return f"Whether it changed: too little evidence. {found.said}"
    off = round(100 * abs(found.value))
    low, high = ends(found)
    if low is None or high is None or low <= 0 <= high:
        return "From the first half of the sittings to the second: no sure change."
    word = "more" if found.value > 0 else "fewer"
    return (
        f"In the second half of the sittings {off} of 100 decisions {word} were right than in the "
        f"first ({round(100 * low)} to {round(100 * high)}). The forms were not the same."
    )


def _next(table: CohortTable, own: OwnResults, site: SiteValues) -> tuple[Next, ...]:
    """Say which mistake to work on, from the plan's lines; exam scenarios are not named."""
    catalogue = catalogue_of_mistakes()
    found = practice(table, catalogue, site.severity)
    made = table.mistakes[table.mistakes["operator"] == own.code]
    times = made["mistake"].value_counts()
    todo: dict[tuple[Station, str], Next] = {}
    for line in found.plan.lines:
        if line.operator != own.code:
            continue
        station = found.station[line.scenario]
        mine = made[made["scenario"] == line.scenario]["mistake"].value_counts(sort=False)
        known = [catalogue[name] for name in mine.index if name in catalogue]
        # Of what went wrong there, first what belongs to the step and happens again and again.
        known.sort(key=lambda one: (one.station != station, -int(times[one.id]), one.id))
        known += [catalogue[name] for name in line.mistakes if name in catalogue]
        if not known or (station, known[0].id) in todo:
            continue
        chance = round(100 * line.failure.value)
        why = f"Expected next time: {chance} wrong of 100."
        if line.failures:
            tried = f"{line.failures} of {count(line.failure.n, 'answer')}"
            why = f"{tried} in one exam scenario with this were wrong. {why}"
        todo[station, known[0].id] = Next(station, known[0].mistake, known[0].right_action, why)
    if not todo:
        for unseen in found.plan.unseen:
            if unseen.operator == own.code:
                station = found.station[unseen.scenario]
                todo[station, ""] = Next(station, "", "the whole step", unseen.said)
    return tuple(todo.values())[:NEXT_SHOWN]


def _sink(observations: Sequence[Observation], code: str) -> str:
    totals = observed_totals([one for one in observations if one.operator == code])
    if totals.empty:
        return "You have not been watched at the sink yet."
    totals = totals.assign(done=(totals["share"] * totals["seen"]).fillna(0.0))
    parts = []
    for station in STATION_WORK:
        rows = totals[totals["station"] == station]
        if len(rows):
            done, seen = round(float(rows["done"].sum())), int(rows["seen"].sum())
            parts.append(f"{STATION_WORK[station]} {done} of {seen} items done")
    return f"Watched at the sink ({count(len(totals), 'record')}): {listed(parts)}."


def _rows(own: OwnResults) -> list[Row]:
    rows: list[Row] = []
    for step in own.steps:
        low, high = ends(step.rate)
        shares = (value(step.rate), low, high, *(step.others or (None, None)))
        rows.append((step.station, step.right, step.answers,
                     *(None if one is None else 100 * one for one in shares)))  # fmt: skip
    return rows
