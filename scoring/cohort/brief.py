"""The manager's page: its sections and what they find, computed once from the tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.catalogue import mistakes as catalogue_of_mistakes
from scoring.cohort.operator_rates import operator_study
from scoring.cohort.operators_section import operators_section
from scoring.cohort.outcome import station_outcomes
from scoring.cohort.over_time import time_section
from scoring.cohort.parts import part
from scoring.cohort.plan_section import plan_section
from scoring.cohort.practice import for_everybody, practice
from scoring.cohort.section import Finding, Section, Sheet
from scoring.cohort.step_variation import MOST_DETECTED, step_variation
from scoring.cohort.steps_section import steps_section
from scoring.cohort.table import CohortTable
from scoring.records.people import Happening
from scoring.site import SiteValues

MOST_FINDINGS = 6
"""Findings under "In short": what is read before a meeting begins. A working judgement."""

OF_EACH = {"steps": 2, "time": 2, "operators": 1, "plan": 1}
"""How many of them each section gives at most: steps first. A working judgement."""


@dataclass(frozen=True, slots=True)
class Brief:
    """One cohort, ready to be shown.

    Attributes
    ----------
    operators, sittings, forms : int
        How many there are.
    unfinished : int
        Sittings never handed in.
    sections : tuple of Section
        Steps, time, operators, plan, method; only the method where there is nothing to show.
    findings : tuple of Finding
        What stands under "In short", the most useful first.
    empty : bool
        Whether no step of any sitting was finished.
    """

    operators: int
    sittings: int
    forms: int
    unfinished: int
    sections: tuple[Section, ...]
    findings: tuple[Finding, ...]
    empty: bool

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """Return the tables of all sections."""
        return tuple(sheet for section in self.sections for sheet in section.sheets)


def make_brief(
    table: CohortTable, events: Sequence[Happening] = (), site: SiteValues | None = None
) -> Brief:
    """Compute everything that the manager's page shows.

    Parameters
    ----------
    table : CohortTable
        The sittings that count; may be empty.
    events : sequence of Happening
        What happened in the department.
    site : SiteValues, optional
        The department's own values; without them there is no limit, hence no verdict, and
        no section on time.
    """
    catalogue = catalogue_of_mistakes()
    severity: dict[str, int] = dict(site.severity) if site else {}
    limit = 1.0 - site.passing.cut if site else None
    outcomes = station_outcomes(table)
    steps = step_variation(table)
    empty = not any(outcome.sittings for outcome in outcomes)
    first = steps_section(table, outcomes, steps, catalogue, severity)
    method = Section("method", "Method", part("method", sampled=MOST_DETECTED))
    sections: tuple[Section, ...] = (method,)
    if not empty:
        sections = (
            first,
            *((time_section(table, events, site),) if site else ()),
            operators_section(operator_study(table, steps, limit)),
            plan_section(
                practice(table, catalogue, severity, for_everybody(steps, limit)), steps, limit
            ),
            method,
        )
    return Brief(
        operators=len(table.operators()),
        sittings=len(table.sittings),
        forms=len(table.forms()),
        unfinished=table.unfinished,
        sections=sections,
        findings=first.findings[:1] if empty else in_short(sections),
        empty=empty,
    )


def in_short(sections: Sequence[Section]) -> tuple[Finding, ...]:
    """Return the findings that are read first: of each section its own, in its order."""
    found = [one for part in sections for one in part.findings[: OF_EACH.get(part.id, 0)]]
    return tuple(found[:MOST_FINDINGS])
