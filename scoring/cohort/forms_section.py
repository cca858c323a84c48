"""The trainer's page, part two: the forms, whether a pass can be relied on."""

from __future__ import annotations

from scoring.cohort.form_study import (
    WANTED,
    FormFigures,
    StationFigures,
    form_figures,
    station_figures,
)
from scoring.cohort.item_study import ItemStudy
from scoring.cohort.partial import ends, filled, rate, value
from scoring.cohort.saying import STATION_NAMES, STATION_WORK, count
from scoring.cohort.section import Finding, Section, Sheet
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.d_numbers import Needed
from scoring.spreadsheet import Row

ID, TITLE = "forms", "Forms: can a pass be relied on?"

TOO_WIDE = 50
"""Of 100: an interval wider than this is told without its middle, which would be read as the
answer. A working judgement."""

FORMS_HEAD = (
    "form", "people", "decisions", "mean points (%)", "alpha", "alpha low", "alpha high",
    "error of measurement (% points)", "compared with", "same as the cut (%)",
    "same as the cut low (%)", "same as the cut high (%)", "differs for sure",
)  # fmt: skip
STEPS_HEAD = (
    "station", "people", "scenarios", "dependability of one scenario", "low", "high",
    "scenarios each sat", "dependability of all sat", "scenarios needed",
    "wrong among passes (%)", "wrong among passes low (%)", "wrong among passes high (%)",
    "same result again (%)",
)  # fmt: skip


def step_said(one: StationFigures) -> str:
    """Return what one step's figures mean, in sentences."""
    if isinstance(one.phi, TooLittleEvidence):
        return f"Too little evidence. {one.phi.said}"
    work = STATION_WORK[one.station]
    if isinstance(one.needed, TooLittleEvidence):
        return (
            f"No sensible number of scenarios settles who can do the {work}: people differ too "
            "little, or scenarios too much."
        )
    if one.needed.n == 1:
        return "One scenario is enough to tell people apart."
    together = one.needed.n <= one.sat
    rest = (
        f"Judge a person by all {one.sat} together."
        if together
        else f"Even the {one.sat} that people sat are too few. Watch them at the sink as well."
    )
    return f"{one.needed.n} scenarios are needed; a form holds one. {rest}"


def pass_said(one: StationFigures) -> str:
    """Return how many of those who pass should not have, in a sentence."""
    if isinstance(one.wrong_pass, TooLittleEvidence):
        return f"Too little evidence. {one.wrong_pass.said}"
    number = f"about {round(100 * one.wrong_pass.value)}"
    who, fault = "Of 100 who pass on one scenario,", "are below the cut in truth"
    if one.wrong_pass.low is None or one.wrong_pass.high is None:
        return f"{who} {number} {fault} (no interval)."
    low, high = round(100 * one.wrong_pass.low), round(100 * one.wrong_pass.high)
    if high - low > TOO_WIDE:
        return f"{who} between {low} and {high} {fault}. The data allow no nearer answer."
    return f"{who} {number} {fault} ({low} to {high})."


def form_said(one: FormFigures, cut: float) -> str:
    """Return what one form's figures mean, in a sentence."""
    if one.same_as is None:
        return "The others of its kind are compared with this form."
    if isinstance(one.same_as, TooLittleEvidence):
        return f"Not compared. {one.same_as.said}"
    if not one.differs:
        return f"No sure difference from {one.base}."
    off = 100 * (one.same_as.value - cut)
    word = "Easier" if off > 0 else "Harder"
    return (
        f"{word} than {one.base}: {round(100 * cut)} of 100 right there are worth "
        f"{round(100 * one.same_as.value)} here."
    )


def forms_section(table: CohortTable, study: ItemStudy, cut: float) -> Section:
    """Return the part of the page on the forms.

    Parameters
    ----------
    table : CohortTable
    study : ItemStudy
    cut : float
        The site's share of points that passes.
    """
    forms = form_figures(table, study, cut)
    steps = station_figures(table, cut)
    html = filled(
        ID,
        {
            "forms": [(one, form_said(one, cut)) for one in forms],
            "steps": [(one, step_said(one), pass_said(one)) for one in steps],
            "cut": cut,
            "wanted": WANTED,
        },
    )
    return Section(ID, TITLE, html, _findings(forms, steps, cut), _sheets(forms, steps))


def _findings(
    forms: tuple[FormFigures, ...], steps: tuple[StationFigures, ...], cut: float
) -> tuple[Finding, ...]:
    if not forms:
        return ()
    found = []
    known = [one for one in steps if isinstance(one.needed, Needed)]
    short = [one for one in known if isinstance(one.needed, Needed) and one.needed.n > 1]
    if short:
        worst = max(short, key=lambda one: one.needed.n if isinstance(one.needed, Needed) else 0)
        found.append(Finding(
            "forms",
            f"One scenario a step is too little to judge a person by: {step_said(worst)}",
            f"This is {STATION_WORK[worst.station]}, the least dependable step. Dependability of "
            f"one scenario by step: "
            + "; ".join(f"{STATION_NAMES[one.station]} {_two(one.phi)}" for one in known)
            + f". Wanted: {WANTED}.",
        ))  # fmt: skip
    wrong = [one for one in steps if isinstance(one.wrong_pass, Estimate)]
    if wrong:
        worst = max(wrong, key=lambda one: value(one.wrong_pass) or 0.0)
        found.append(Finding(
            "forms", f"{STATION_NAMES[worst.station]}: {pass_said(worst)}",
            f"{count(worst.people, 'person', 'people')}; cut {round(100 * cut)} of 100 points. The "
            "kit calls results near the cut borderline, so its own wrong passes are fewer.",
        ))  # fmt: skip
    found += [
        Finding("forms", f"{one.form}: {form_said(one, cut)}",
                f"95 % interval: {rate(one.same_as)}. Same people, but at different times of "
                "the year.")
        for one in forms if one.differs
    ]  # fmt: skip
    return tuple(found)


def _two(answer: Estimate | TooLittleEvidence) -> str:
    return f"{answer.value:.2f}" if isinstance(answer, Estimate) else "unknown"


def _sheets(forms: tuple[FormFigures, ...], steps: tuple[StationFigures, ...]) -> tuple[Sheet, ...]:
    rows: list[Row] = [
        (one.form, one.people, one.decisions, _percent(one.mean), value(one.alpha),
         *ends(one.alpha), _percent(value(one.error)), one.base, _percent(value(one.same_as)),
         *map(_percent, ends(one.same_as)), "yes" if one.differs else "")
        for one in forms
    ]  # fmt: skip
    by_step: list[Row] = [
        (one.station, one.people, one.scenarios, value(one.phi), *ends(one.phi), one.sat,
         value(one.phi_all), one.needed.n if isinstance(one.needed, Needed) else None,
         _percent(value(one.wrong_pass)), *map(_percent, ends(one.wrong_pass)),
         None if isinstance(one.decision, TooLittleEvidence)
         else _percent(value(one.decision.consistency)))
        for one in steps
    ]  # fmt: skip
    return (Sheet("forms", FORMS_HEAD, rows), Sheet("scenarios-needed", STEPS_HEAD, by_step))


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share
