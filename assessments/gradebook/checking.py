"""Reading the gradebook back: it must hold exactly the marks that were computed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nbgrader.api import Gradebook  # type: ignore[import-untyped]

from assessments.gradebook.plan import PlannedCell, by_decision
from assessments.gradebook.saving import kept_cells
from scoring.faults import Fault, FaultError
from scoring.marking.marks import SittingMarks

NOT_ASSESSED = "Not assessed: no answer."
"""Comment on a decision without a readable answer; its 0 points are no judgement of a person."""


def check_against(
    url: str, assignment: str, cells: Sequence[PlannedCell], marks: Iterable[SittingMarks]
) -> None:
    """Write the comments of decisions not assessed, then compare every cell.

    nbgrader gives full marks where it finds no plain number, so what it stored
    is never taken on trust.

    Raises
    ------
    FaultError
        One fault for each cell whose points, maximum or state differ.
    """
    faults: list[Fault] = []
    with Gradebook(url) as gradebook:
        for sitting in marks:
            faults.extend(_differences(gradebook, assignment, cells, sitting))
        gradebook.db.commit()
    if faults:
        raise FaultError(faults)


def _differences(
    gradebook: Gradebook, assignment: str, cells: Sequence[PlannedCell], sitting: SittingMarks
) -> list[Fault]:
    kept = kept_cells(gradebook, assignment, sitting.operator)
    grades, comments = kept.grades, kept.comments
    if not grades:
        return [_fault(assignment, sitting.operator, "nothing", "marks of this sitting")]
    of = by_decision(sitting.decisions)
    faults = []
    if set(grades) != {cell.grade_id for cell in cells} or len(of) != len(cells):
        faults.append(
            _fault(
                assignment, sitting.operator, f"{len(grades)} graded cells, {len(of)} marks",
                f"{len(cells)} of each, one a decision",
            )
        )  # fmt: skip
    for cell in cells:
        mark, grade = of.get((cell.scenario, cell.decision)), grades.get(cell.grade_id)
        if mark is None or grade is None:
            continue
        found = (grade.score, kept.maxima[cell.grade_id], bool(grade.needs_manual_grade))
        wanted = (mark.points, mark.maximum, False)
        if found != wanted:
            where = f"{sitting.operator}, {cell.scenario}, {cell.decision}"
            faults.append(_fault(assignment, where, _said(found), _said(wanted)))
        comment = comments.get(cell.answer_id)
        if comment is not None:
            comment.auto_comment = None if mark.assessed else NOT_ASSESSED
    return faults


def _said(state: tuple[float, float, bool]) -> str:
    waiting = ", waits for a person" if state[2] else ""
    return f"{state[0]!r} of {state[1]!r} points{waiting}"


def _fault(assignment: str, item: str, found: str, wanted: str) -> Fault:
    return FaultError.one(
        f"gradebook, {assignment}",
        item,
        found=found,
        wanted=wanted,
        remedy="Do not use these marks. Undo any change made by hand in the gradebook, mark again.",
    ).faults[0]
