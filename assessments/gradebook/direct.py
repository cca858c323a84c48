"""Marks alone, straight into the gradebook: for whole cohorts, in one transaction.

The rows are those that nbgrader's autograding would leave, without notebooks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from nbgrader.api import (  # type: ignore[import-untyped]
    Assignment,
    Comment,
    Grade,
    Gradebook,
    GradeCell,
    Notebook,
    SolutionCell,
    Student,
    SubmittedAssignment,
    SubmittedNotebook,
    new_uuid,
)
from sqlalchemy import Connection, delete, insert, select

from assessments.gradebook.checking import NOT_ASSESSED
from assessments.gradebook.plan import NOTEBOOK, PlannedCell, by_decision
from scoring.faults import FaultError
from scoring.marking.marks import SittingMarks

AT_ONCE = 500
"""Ids in one question to the database; SQLite takes 32,766 (its default since 3.32; memory)."""


def store_marks(
    gradebook_url: str, assignment: str, cells: Sequence[PlannedCell], marks: Iterable[SittingMarks]
) -> int:
    """Store the marks of many sittings of one released assignment.

    Parameters
    ----------
    gradebook_url : str
        SQLAlchemy URL.
    assignment : str
        As `Course.release` returned it.
    cells : sequence of PlannedCell
        The decisions of its form.
    marks : iterable of SittingMarks
        One sitting an operator; an operator's earlier marks are replaced.

    Returns
    -------
    int
        How many sittings were stored.

    Raises
    ------
    FaultError
        The assignment is not released, an operator stands twice, or marks and
        assignment do not agree. Nothing is stored then.
    """
    sittings = list(marks)
    _each_once(assignment, sittings)
    with Gradebook(gradebook_url) as gradebook, gradebook.engine.begin() as connection:
        notebook = _notebook(connection, assignment)
        ids = _cell_ids(connection, assignment, notebook, cells)
        _forget(connection, assignment, [sitting.operator for sitting in sittings])
        known = set(connection.scalars(select(Student.id)))
        rows = _Rows(assignment, notebook, cells, ids, known)
        for sitting in sittings:
            rows.add(sitting)
        for table, values in rows.tables():
            if values:
                connection.execute(insert(table), values)
    return len(sittings)


class _Rows:
    """The rows of all sittings, gathered table by table."""

    def __init__(
        self,
        assignment: str,
        notebook: tuple[str, str],
        cells: Sequence[PlannedCell],
        ids: dict[str, tuple[str, float]],
        known: set[str],
    ) -> None:
        self._assignment = assignment
        self._notebook = notebook
        self._cells = cells
        self._ids = ids
        self._known = known
        self._students: list[dict[str, Any]] = []
        self._submissions: list[dict[str, Any]] = []
        self._notebooks: list[dict[str, Any]] = []
        self._grades: list[dict[str, Any]] = []
        self._comments: list[dict[str, Any]] = []

    def add(self, sitting: SittingMarks) -> None:
        of = by_decision(sitting.decisions)
        if len(of) != len(self._cells):
            raise _disagree(
                self._assignment, sitting.operator, f"{len(of)} marks", len(self._cells)
            )
        if sitting.operator not in self._known:
            self._students.append({"id": sitting.operator})
        assignment_id, notebook_id = self._notebook
        submission, copy = new_uuid(), new_uuid()
        self._submissions.append(
            {"id": submission, "assignment_id": assignment_id, "student_id": sitting.operator}
        )
        self._notebooks.append(
            {"id": copy, "assignment_id": submission, "notebook_id": notebook_id, "flagged": False}
        )
        for cell in self._cells:
            mark = of.get((cell.scenario, cell.decision))
            graded, maximum = self._ids[cell.grade_id]
            if mark is None or mark.maximum != maximum or not 0.0 <= mark.points <= maximum:
                where = f"{sitting.operator}, {cell.scenario}, {cell.decision}"
                found = "no mark" if mark is None else f"{mark.points} of {mark.maximum} points"
                raise _disagree(self._assignment, where, found, maximum)
            self._grades.append(
                {
                    "id": new_uuid(), "notebook_id": copy, "cell_id": graded,
                    "auto_score": float(mark.points), "needs_manual_grade": False,
                }
            )  # fmt: skip
            self._comments.append(
                {
                    "id": new_uuid(), "notebook_id": copy, "cell_id": self._ids[cell.answer_id][0],
                    "auto_comment": None if mark.assessed else NOT_ASSESSED,
                }
            )  # fmt: skip

    def tables(self) -> list[tuple[type[Any], list[dict[str, Any]]]]:
        return [
            (Student, self._students),
            (SubmittedAssignment, self._submissions),
            (SubmittedNotebook, self._notebooks),
            (Grade, self._grades),
            (Comment, self._comments),
        ]


def _each_once(assignment: str, sittings: list[SittingMarks]) -> None:
    twice = [
        code
        for code, count in Counter(sitting.operator for sitting in sittings).items()
        if count > 1
    ]
    if twice:
        raise FaultError.one(
            f"gradebook, {assignment}",
            "operators",
            found=f"more than one sitting of {', '.join(twice[:5])}",
            wanted="one sitting an operator: the one that counts",
            remedy="Choose the sitting by the form's rule (first, last or best) first.",
        )


def _notebook(connection: Connection, assignment: str) -> tuple[str, str]:
    found = connection.execute(
        select(Assignment.id, Notebook.id)
        .join(Notebook, Notebook.assignment_id == Assignment.id)
        .where(Assignment.name == assignment, Notebook.name == NOTEBOOK)
    ).one_or_none()
    if found is None:
        raise FaultError.one(
            f"gradebook, {assignment}",
            "assignment",
            found="no assignment of this name",
            wanted="a released assignment",
            remedy="Release the form first.",
        )
    return str(found[0]), str(found[1])


def _cell_ids(
    connection: Connection,
    assignment: str,
    notebook: tuple[str, str],
    cells: Sequence[PlannedCell],
) -> dict[str, tuple[str, float]]:
    """Return id and maximum of every cell by its name."""
    graded = select(GradeCell.name, GradeCell.id, GradeCell.max_score).where(
        GradeCell.notebook_id == notebook[1]
    )
    answers = select(SolutionCell.name, SolutionCell.id).where(
        SolutionCell.notebook_id == notebook[1]
    )
    ids = {str(row[0]): (str(row[1]), float(row[2])) for row in connection.execute(graded)}
    ids |= {str(row[0]): (str(row[1]), 0.0) for row in connection.execute(answers)}
    wanted = {name for cell in cells for name in (cell.grade_id, cell.answer_id)}
    if set(ids) != wanted:
        raise _disagree(assignment, "cells", f"{len(ids)} cells", len(wanted))
    return ids


def _forget(connection: Connection, assignment: str, operators: list[str]) -> None:
    """Take out what these operators had for this assignment."""
    for start in range(0, len(operators), AT_ONCE):
        some = operators[start : start + AT_ONCE]
        submissions = list(
            connection.scalars(
                select(SubmittedAssignment.id)
                .join(Assignment, Assignment.id == SubmittedAssignment.assignment_id)
                .where(Assignment.name == assignment, SubmittedAssignment.student_id.in_(some))
            )
        )
        copies = list(
            connection.scalars(
                select(SubmittedNotebook.id).where(SubmittedNotebook.assignment_id.in_(submissions))
            )
        )
        for table in (Grade, Comment):
            connection.execute(delete(table).where(table.notebook_id.in_(copies)))
        connection.execute(delete(SubmittedNotebook).where(SubmittedNotebook.id.in_(copies)))
        connection.execute(
            delete(SubmittedAssignment).where(SubmittedAssignment.id.in_(submissions))
        )


def _disagree(assignment: str, item: str, found: str, wanted: float) -> FaultError:
    return FaultError.one(
        f"gradebook, {assignment}",
        item,
        found=found,
        wanted=f"{wanted:g}, as released",
        remedy="Report this: the marking and the assignment do not agree.",
    )
