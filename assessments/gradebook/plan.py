"""Which cell of the assignment belongs to which decision of the form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from scoring.form import Form
from scoring.library import Library
from scoring.marking.marks import DecisionMark

NOTEBOOK = "exam"
"""Name of the one notebook of every assignment."""


@dataclass(frozen=True, slots=True)
class PlannedCell:
    """One decision of a form and the two cells that stand for it.

    Attributes
    ----------
    number : int
        Place in the form, from 1.
    scenario, decision : str
        What is decided.
    maximum : float
        Points: the decision's weight times the scenario's, above 0.
    """

    number: int
    scenario: str
    decision: str
    maximum: float

    @property
    def grade_id(self) -> str:
        """Name of the graded cell in the gradebook."""
        return f"d{self.number:03d}-{self.decision}"

    @property
    def answer_id(self) -> str:
        """Name of the cell that shows the answer; comments hang on it."""
        return f"a{self.number:03d}-{self.decision}"


def plan_cells(form: Form, library: Library) -> tuple[PlannedCell, ...]:
    """Return the cells of a form, in the order its decisions are met."""
    pairs = [
        (seated, decision)
        for seated in form.scenarios
        for decision in library.scenario(seated.id).decisions
    ]
    return tuple(
        PlannedCell(number, seated.id, decision.id, decision.weight * seated.weight)
        for number, (seated, decision) in enumerate(pairs, start=1)
    )


def by_decision(decisions: tuple[DecisionMark, ...]) -> Mapping[tuple[str, str], DecisionMark]:
    """Return marks by scenario and decision."""
    return {(mark.scenario, mark.decision): mark for mark in decisions}
