"""The section on time: month by month, where and when, new starters, retraining, forgetting."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import jinja2

from scoring.catalogue import mistakes as catalogue_of_mistakes
from scoring.cohort.answers_in_time import AnswersInTime, answers_in_time, day_said, month_said
from scoring.cohort.monthly import StationMonths, monthly
from scoring.cohort.new_starters import NewStarters, Starter, new_starters
from scoring.cohort.retrained import MOST_EACH, MOST_RETRAININGS, Retrained, retrainings
from scoring.cohort.retraining_chart import retraining_figure
from scoring.cohort.saying import STATION_WORK, count, listed, percent, with_span
from scoring.cohort.section import Finding, Section
from scoring.cohort.sign_off import expiry_found, expiry_rows, sign_offs
from scoring.cohort.starting_curve import curve_found, starting_curve, starting_figure
from scoring.cohort.table import CohortTable
from scoring.cohort.time_charts import event_marks, event_words, months_figure
from scoring.cohort.time_findings import (
    kind_words,
    months_found,
    retrained_found,
    starters_found,
    where_found,
)
from scoring.cohort.time_sheets import time_sheets
from scoring.cohort.where_and_when import Place, WhereAndWhen, where_and_when
from scoring.evidence import TooLittleEvidence
from scoring.printing import page_templates
from scoring.records.people import Happening
from scoring.site import SiteValues
from scoring.variation.chart import ControlChart
from scoring.variation.retraining import RetrainingEffect

ID = "time"
TITLE = "Over time: what changed, where, and for whom"

MOST_ROWS = 12
"""Rows of a table of this section on paper; the files have all. A working judgement."""

MOST_STARTERS = 40
"""New starters listed by code; of more only the counts stand here. A working judgement."""


def time_section(table: CohortTable, events: Sequence[Happening], site: SiteValues) -> Section:
    """Return the manager's section on time.

    Parameters
    ----------
    table : CohortTable
        May be empty.
    events : sequence of Happening
        What happened in the department; days outside the data are told, not drawn.
    site : SiteValues
        Its pass rules bound the proposal of how long a sign-off lasts.

    Returns
    -------
    Section
        Findings: what stands out by site and shift, each retraining, months, new starters, the
        length of a sign-off. What cannot be told is a sentence.
    """
    answers = answers_in_time(table)
    if answers.empty:
        said = "No scenario was answered whole in a sitting that was handed in."
        nothing = Finding(ID, "Nothing can be said about time yet.", said)
        return Section(ID, TITLE, f"<p>{nothing}</p>", (nothing,))
    catalogue = catalogue_of_mistakes()
    happened = sorted(events, key=lambda event: (event.day, event.kind, event.note))
    months = monthly(answers)
    where = where_and_when(table, answers, catalogue)
    new = new_starters(answers)
    curve = starting_curve(answers, new)
    retrained = retrainings(answers, happened)
    lasting = sign_offs(answers, site.passing)
    found = SimpleNamespace(
        months=months_found(months),
        where=where_found(where, catalogue),
        learning=starters_found(new),
        curve=None if isinstance(new, TooLittleEvidence) else curve_found(curve),
        retraining=tuple(retrained_found(one) for one in retrained),
        expiry=expiry_found(lasting, site.passing),
    )
    drawn = SimpleNamespace(
        months=months_figure(months, happened),
        learning=None
        if isinstance(curve, TooLittleEvidence) or isinstance(new, TooLittleEvidence)
        else starting_figure(curve, new),
        retraining=retraining_figure(retrained),
    )
    named = where.named() if isinstance(where, WhereAndWhen) else ()
    html = _template().render(
        found=found,
        drawn=drawn,
        month_notes=_month_notes(months, happened, answers),
        named=[_place(row) for row in named[:MOST_ROWS]],
        more_named=max(0, len(named) - MOST_ROWS),
        places=_all_places(where, named),
        places_kind=kind_words(named[0]) if named else "",
        starters=_starters(new),
        starter_notes=_starter_notes(new),
        retraining_notes=_retraining_notes(happened, retrained),
        expiry=expiry_rows(lasting),
        left_out=answers.left_out,
    )
    first = (found.where,) if named else ()
    last = () if named else (found.where,)
    return Section(
        ID,
        TITLE,
        html,
        (*first, *found.retraining, found.months, found.learning, *last, found.expiry),
        time_sheets(months, where, new, retrained),
    )


def _template() -> jinja2.Template:
    environment = page_templates(Path(__file__).with_name("templates"))
    environment.filters["count"] = count
    return environment.get_template("time.html.j2")


def _place(row: Place) -> dict[str, object]:
    return {
        "place": row.place,
        "kind": kind_words(row),
        "rate": with_span(row.rate.value, row.rate.low, row.rate.high),
        "others": percent(row.others),
        "n": (count(row.operators, "operator"), count(row.decisions, "decision")),
        "stands_out": row.named,
    }


def _all_places(
    where: WhereAndWhen | TooLittleEvidence, named: Sequence[Place]
) -> list[dict[str, object]]:
    """Return every site and shift at the kind that stands out most, sorted by name."""
    if isinstance(where, TooLittleEvidence) or not named or len(where.places) > MOST_ROWS:
        return []
    kind = (named[0].station, named[0].topic)
    return [_place(row) for row in where.rows if (row.station, row.topic) == kind]


def _month_notes(
    months: Sequence[StationMonths], events: Sequence[Happening], answers: AnswersInTime
) -> list[str]:
    said = []
    charted = [row for row in months if isinstance(row.chart, ControlChart)]
    adjusted = [row for row in charted if row.adjusted]
    if adjusted and len(adjusted) == len(charted):
        said.append(
            "Months are made equally hard first: some scenarios are harder than others, and not "
            "every month had the same ones."
        )
    elif charted:
        said.append(
            "Most scenarios were sat in one month only, so where a month stands out it may be its "
            "scenarios and not its people; the data cannot tell."
        )
    wide = [STATION_WORK[row.station] for row in charted if row.chart.form == "p'"]  # type: ignore[union-attr]
    if wide:
        said.append(
            f"In {listed(wide)} months vary more than counts do by "
            "chance, so the limits there are wider (Laney's p' chart)."
        )
    if any(row.left_out for row in months):
        said.append(
            f"Drawn are the last {max(len(row.months) for row in months)} months; "
            f"{max(row.left_out for row in months)} earlier ones are not."
        )
    first, last = min(row.months[0] for row in months), max(row.months[-1] for row in months)
    stations = [str(row.station) for row in charted]
    marks = event_marks(stations, events, first, last)
    if marks and len(marks[0][1]) == 1:
        key = [f"{mark}: {event_words(event)}, {day_said(event.day)}" for event, mark in marks]
        said.insert(0, f"What happened: {'; '.join(key)}.")
    outside = [
        event for event in events if not first <= event.day.year * 12 + event.day.month - 1 <= last
    ]
    if outside:
        named = [f"{event_words(event)}, on {day_said(event.day)}" for event in outside]
        said.append(
            f"Not drawn, because {'it lies' if len(outside) == 1 else 'they lie'} outside "
            f"{month_said(first)} to {month_said(last)}: {'; '.join(named)}."
        )
    return said


def _starters(new: NewStarters | TooLittleEvidence) -> list[dict[str, object]]:
    if isinstance(new, TooLittleEvidence) or len(new.starters) > MOST_STARTERS:
        return []
    return [
        {
            "operator": one.operator,
            "months": f"{one.from_month:.0f} to {one.to_month:.0f}",
            "rate": with_span(one.rate.value, one.rate.low, one.rate.high),
            "n": one.rate.n,
            "verdict": _verdict(one),
        }
        for one in new.starters
    ]


def _verdict(one: Starter) -> str:
    if one.month is not None and one.in_post is not None:
        return (
            f"shown in {month_said(one.month)}, after {one.after} decisions "
            f"({one.in_post:.0f} months in post)"
        )
    if one.verdict == "not shown":
        return f"not shown yet; {one.more} right in a row would show it"
    return f"too little evidence: at least {one.more} more decisions are needed"


def _starter_notes(new: NewStarters | TooLittleEvidence) -> list[str]:
    if isinstance(new, TooLittleEvidence):
        return []
    design = new.design
    said = [
        f"How a verdict comes about (learning curve CUSUM): p0 = {percent(design.p0)} wrong is the "
        f"department's level, p1 = {percent(design.p1)} (twice the odds) is clearly not there. "
        f"Within {design.horizon} decisions somebody who truly stays at p1 is called there by "
        f"chance with alpha = {100 * design.alpha:.1f} %, somebody truly at p0 is missed with beta "
        f"= {100 * design.beta:.1f} %. On average a true p0 is shown after "
        f"{design.arl1:.0f} decisions, a true p1 wrongly after {design.arl0:,.0f}. All steps count "
        "together; one step alone would give too few decisions."
    ]
    if len(new.starters) > MOST_STARTERS:
        said.append("There are too many new starters for one sheet. The file has all of them.")
    if new.unknown:
        said.append(
            f"{count(new.unknown, 'operator')} whose time in post is not known "
            f"{'is' if new.unknown == 1 else 'are'} in neither group."
        )
    return said


def _retraining_notes(events: Sequence[Happening], retrained: Sequence[Retrained]) -> list[str]:
    number = sum(event.kind == "retraining" for event in events)
    said = []
    if number > MOST_RETRAININGS:
        said.append(
            f"Shown are the latest {MOST_RETRAININGS} of {number} retrainings, each in a model of "
            "its own; an earlier one is then part of what everybody's time does."
        )
    fitted = [one.effect for one in retrained if isinstance(one.effect, RetrainingEffect)]
    if any(MOST_EACH in (effect.retrained, effect.others) for effect in fitted):
        said.append(
            f"Of many people at most {MOST_EACH} retrained and {MOST_EACH} others, evenly spread "
            "over the codes, are in a model."
        )
    if fitted:
        said.append(
            "The model knows only what the answers show. If people were chosen for something else, "
            "such as a complaint, it can mistake that for the retraining."
        )
    return said
