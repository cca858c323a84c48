"""Everything a cohort report shows, computed once from the marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scoring.catalogue import mistakes as catalogue_of_mistakes
from scoring.cohort.drawing import Drawn
from scoring.cohort.figures import ordered_by_who, outcome_figure, people_figure, who_figure
from scoring.cohort.findings import findings
from scoring.cohort.frequent import FrequentMistake, frequent_mistakes
from scoring.cohort.outcome import StationOutcome, station_outcomes
from scoring.cohort.section import Finding
from scoring.cohort.table import CohortTable
from scoring.cohort.table_files import table_files
from scoring.model import Station


@dataclass(frozen=True)
class Brief:
    """One cohort, ready to be shown.

    Attributes
    ----------
    operators : tuple of str
        Codes, sorted.
    forms : tuple of str
        Names of the forms sat, sorted.
    sittings, unfinished : int
        Sittings, and those never handed in.
    outcomes : tuple of StationOutcome
        In the order of the work.
    by_who : tuple of StationOutcome
        The same, those that depend most on who first.
    mistakes : dict of Station to tuple of FrequentMistake
        All of them, the most widespread first.
    findings : tuple of Finding
    who, results, people : Drawn or None
        The figures; None where there is nothing to draw.
    files : dict of str to bytes
        The tables as CSV, by file name.
    """

    operators: tuple[str, ...]
    forms: tuple[str, ...]
    sittings: int
    unfinished: int
    outcomes: tuple[StationOutcome, ...]
    by_who: tuple[StationOutcome, ...]
    mistakes: dict[Station, tuple[FrequentMistake, ...]]
    findings: tuple[Finding, ...]
    who: Drawn | None
    results: Drawn | None
    people: Drawn | None
    files: dict[str, bytes]

    @property
    def empty(self) -> bool:
        """Whether no sitting was finished."""
        return not any(outcome.sittings for outcome in self.outcomes)


def make_brief(table: CohortTable, severity: Mapping[str, int] | None = None) -> Brief:
    """Compute everything the report shows.

    Parameters
    ----------
    table : CohortTable
        The sittings that count; may be empty.
    severity : mapping of str to int, optional
        The site's own severities of mistakes.
    """
    outcomes = station_outcomes(table)
    mistakes = frequent_mistakes(table, catalogue_of_mistakes(), severity or {})
    some = any(outcome.sittings for outcome in outcomes)
    return Brief(
        operators=table.operators(),
        forms=table.forms(),
        sittings=len(table.sittings),
        unfinished=table.unfinished,
        outcomes=outcomes,
        by_who=tuple(ordered_by_who(outcomes)),
        mistakes=mistakes,
        findings=findings(outcomes, mistakes),
        who=who_figure(outcomes) if some else None,
        results=outcome_figure(outcomes) if some else None,
        people=people_figure(outcomes) if some else None,
        files=table_files(outcomes, mistakes),
    )
