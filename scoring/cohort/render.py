"""From a brief to HTML: the same parts for the printed report and for the served page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import jinja2

from scoring.cohort.brief import Brief
from scoring.cohort.figures import MOST_PEOPLE
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.cohort.saying import STATION_NAMES, count, with_span
from scoring.printing import page_templates
from scoring.variation.between import BetweenShare
from scoring.variation.operator_means import LEAST_SITTINGS

TEMPLATES = Path(__file__).with_name("templates")

MOST_MISTAKES = 3
"""Mistakes shown for each step: what a team can work on at one time. A working judgement; the
table file has all."""

HALF = 0.5
"""A step is called a matter of who when the whole interval lies above one half, because then
most of the differences go with the person. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over a report and says where it comes from.

    Attributes
    ----------
    title : str
    invented : bool
        The data are invented, and the report says so at its head.
    made : date
    origin : sequence of (str, str)
        Versions, digests, seeds: name and value, shown under "Method and origin".
    notes : sequence of str
        Sentences on what is left out, shown under "In short".
    """

    title: str
    invented: bool
    made: date
    origin: Sequence[tuple[str, str]] = ()
    notes: Sequence[str] = ()


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


def body(brief: Brief, heading: Heading, files: Sequence[tuple[str, str]]) -> str:
    """Return the article of the report.

    Parameters
    ----------
    brief : Brief
    heading : Heading
    files : sequence of (str, str)
        Name and address of each table file to offer; may be empty.
    """
    made = f"{heading.made.day} {heading.made:%B %Y}"
    return (
        _pages()
        .get_template("body.html.j2")
        .render(
            brief=brief,
            title=heading.title,
            invented=heading.invented,
            made=made,
            origin=heading.origin,
            notes=heading.notes,
            files=files,
            people={
                outcome.station: {person.operator: person for person in outcome.people}
                for outcome in brief.outcomes
            },
            verdicts=VERDICTS,
            most_mistakes=MOST_MISTAKES,
            most_people=MOST_PEOPLE,
            least_sittings=LEAST_SITTINGS,
        )
    )


def page(brief: Brief, heading: Heading, files: Sequence[tuple[str, str]]) -> str:
    """Return the whole report as one page without script, to open or print anywhere."""
    return (
        _pages()
        .get_template("page.html.j2")
        .render(
            title=heading.title,
            invented=heading.invented,
            css=css(),
            body=body(brief, heading, files),
        )
    )


def css() -> str:
    """Return the style of the report."""
    return (TEMPLATES / "cohort.css").read_text(encoding="utf-8")


def _pages() -> jinja2.Environment:
    pages = page_templates(TEMPLATES)
    pages.filters["count"] = count
    pages.filters["station"] = STATION_NAMES.__getitem__
    pages.filters["points_to"] = points_to
    pages.globals["with_span"] = with_span
    return pages
