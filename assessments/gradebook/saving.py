"""nbgrader's own saving of points, with two questions to the database instead of four a cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nbgrader.api import (  # type: ignore[import-untyped]
    Assignment,
    Comment,
    Grade,
    Gradebook,
    GradeCell,
    SolutionCell,
    SubmittedAssignment,
    SubmittedNotebook,
)
from nbgrader.preprocessors import SaveAutoGrades  # type: ignore[import-untyped]
from sqlalchemy import select

from assessments.gradebook.plan import NOTEBOOK


@dataclass(frozen=True, slots=True)
class KeptCells:
    """What the gradebook holds of one submission, by name of cell.

    Attributes
    ----------
    grades : dict of str to Grade
        nbgrader's rows, attached to the session that read them.
    maxima : dict of str to float
        Points each graded cell is worth.
    comments : dict of str to Comment
        nbgrader's rows of the answer cells.
    """

    grades: dict[str, Any]
    maxima: dict[str, float]
    comments: dict[str, Any]


def kept_cells(gradebook: Gradebook, assignment: str, operator: str) -> KeptCells:
    """Read the grades and comments of one submission; empty when there is none."""
    of_submission = (
        select(SubmittedNotebook.id)
        .join(SubmittedAssignment, SubmittedAssignment.id == SubmittedNotebook.assignment_id)
        .join(Assignment, Assignment.id == SubmittedAssignment.assignment_id)
        .where(Assignment.name == assignment, SubmittedAssignment.student_id == operator)
        .scalar_subquery()
    )
    grades = gradebook.db.execute(
        select(GradeCell.name, GradeCell.max_score, Grade)
        .join(GradeCell, GradeCell.id == Grade.cell_id)
        .where(Grade.notebook_id == of_submission)
    ).all()
    comments = gradebook.db.execute(
        select(SolutionCell.name, Comment)
        .join(SolutionCell, SolutionCell.id == Comment.cell_id)
        .where(Comment.notebook_id == of_submission)
    ).all()
    return KeptCells(
        {str(row[0]): row[2] for row in grades},
        {str(row[0]): float(row[1]) for row in grades},
        {str(row[0]): row[1] for row in comments},
    )


class SaveAtOnce(SaveAutoGrades):  # type: ignore[misc]
    """Saves a notebook's points as nbgrader does, in one transaction."""

    def preprocess(self, nb: Any, resources: Any) -> tuple[Any, Any]:
        """Save every graded cell of the notebook."""
        about = resources["nbgrader"]
        with Gradebook(about["db_url"]) as gradebook:
            self.gradebook = _Prefetched(
                kept_cells(gradebook, about["assignment"], about["student"])
            )
            self.notebook_id, self.assignment_id = NOTEBOOK, about["assignment"]
            self.student_id = about["student"]
            for number, cell in enumerate(nb.cells):
                self.preprocess_cell(cell, resources, number)
            gradebook.db.commit()
        return nb, resources


class _Prefetched:
    """Answers the two questions that nbgrader asks for each cell, from what was read at once."""

    def __init__(self, kept: KeptCells) -> None:
        self._kept = kept
        self.db = self

    def find_grade(self, name: str, *_where: str) -> Any:
        return self._kept.grades[name]

    def find_comment(self, name: str, *_where: str) -> Any:
        return self._kept.comments[name]

    def commit(self) -> None:
        """Leave it to the one commit at the end of the notebook."""
