"""Marks of one submission through nbgrader's own autograding, with nothing run.

In place of cleaning and executing the notebook, two preprocessors of ours: the
first puts the released notebook where the submitted one was, so that nothing of
the candidate's notebook is left to clean; the second reads the answer log beside
it and writes points. nbgrader then saves them as it saves any. Its own steps that
mend a candidate's cells (ids, kernel, points, metadata) would compare the released
notebook with itself, at two thirds of the time; what is in the gradebook is
compared with the marks afterwards, cell by cell.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nbgrader.apps import NbGraderAPI  # type: ignore[import-untyped]
from traitlets.config import Config

from assessments.gradebook.checking import check_against
from assessments.gradebook.course import Course
from assessments.gradebook.notebooks import read_notebook, with_answers, with_points
from assessments.gradebook.plan import PlannedCell, by_decision
from assessments.gradebook.quiet import must_succeed
from assessments.gradebook.saving import SaveAtOnce
from assessments.gradebook.submissions import LOG_NAME
from scoring.faults import FaultError
from scoring.marking.marks import SittingMarks
from scoring.whole_file import write_whole


@dataclass(frozen=True, slots=True)
class Marked:
    """What the log of one submission gives.

    `said` holds the answers in words, by answer cell; only decisions that were
    answered are in it.
    """

    marks: SittingMarks
    said: Mapping[str, str]


MarkLog = Callable[[Path], Marked]
"""Verifies and marks one answer log; `FaultError` when the log cannot be trusted."""


@dataclass(slots=True)
class _Found:
    """What the preprocessors met in the submission just marked."""

    marks: SittingMarks | None = None
    refused: FaultError | None = None


_ELSEWHERE = re.compile(r'<script[^>]*\bsrc="https?://[^"]*"[^>]*>\s*</script>')
"""A script of another machine, as nbgrader's template asks for. Hospital machines are offline."""


class Autograder:
    """nbgrader's autograding on one assignment, open for many submissions.

    Made by :func:`autograder`.
    """

    def __init__(
        self, api: NbGraderAPI, course: Course, assignment: str, cells: tuple[PlannedCell, ...]
    ) -> None:
        self._api = api
        self._course = course
        self._assignment = assignment
        self._cells = cells
        self.found = _Found()

    def mark(self, operator: str) -> SittingMarks:
        """Mark the submission of `operator` into the gradebook and check what arrived there.

        Raises
        ------
        FaultError
            The log beside the notebook is refused, nbgrader failed, or the
            gradebook does not hold exactly these marks.
        """
        self.found.marks = self.found.refused = None
        result = self._api.autograde(self._assignment, operator)
        if self.found.refused is not None:
            raise self.found.refused
        must_succeed(result, f"marking {operator}", self._course.log_file)
        marks = self.found.marks
        if marks is None:
            raise _not_met(self._course, operator)
        check_against(self._course.url, self._assignment, self._cells, [marks])
        return marks

    def write_feedback(self, operators: Iterable[str]) -> None:
        """Let nbgrader write its own feedback pages of everybody in the gradebook.

        All at once, because most of the time goes into reading its templates.

        Raises
        ------
        FaultError
            nbgrader failed on one of `operators`; the others have their pages.
        """
        codes = tuple(operators)
        if not codes:
            return
        if not self._api.generate_feedback(self._assignment, "*")["success"]:
            for code in codes:
                result = self._api.generate_feedback(self._assignment, code)
                must_succeed(result, f"feedback of {code}", self._course.log_file)
        for code in codes:
            page = self._course.feedback(self._assignment, code)
            write_whole(page, _ELSEWHERE.sub("", page.read_text(encoding="utf-8")))


@contextmanager
def autograder(
    course: Course, assignment: str, cells: Iterable[PlannedCell], mark_log: MarkLog
) -> Iterator[Autograder]:
    """Open the autograding of a released assignment.

    Parameters
    ----------
    course : Course
    assignment : str
        As `Course.release` returned it.
    cells : iterable of PlannedCell
        The decisions of its form.
    mark_log : callable
        Verifies and marks the log of one submission.
    """
    planned = tuple(cells)
    released = read_notebook(course.released(assignment))
    met = _Found()

    def marked(resources: Any) -> Marked:
        try:
            found = _mark(resources, mark_log)
        except FaultError as error:
            met.refused = error
            raise
        met.marks = found.marks
        return found

    def restore(notebook: Any, resources: Any) -> tuple[Any, Any]:
        return with_answers(released, marked(resources).said), resources

    def write_points(notebook: Any, resources: Any) -> tuple[Any, Any]:
        found = marked(resources)
        of = by_decision(found.marks.decisions)
        points = {
            cell.grade_id: of[cell.scenario, cell.decision].points
            for cell in planned
            if (cell.scenario, cell.decision) in of
        }
        return with_points(notebook, points), resources

    config = Config()
    config.Autograde.sanitize_preprocessors = [restore]
    config.Autograde.autograde_preprocessors = [write_points, SaveAtOnce]
    with course.nbgrader(config) as api:
        opened = Autograder(api, course, assignment, planned)
        opened.found = met
        yield opened


def _not_met(course: Course, operator: str) -> FaultError:
    return FaultError.one(
        course.root / "submitted" / operator,
        "submission",
        found="nothing that nbgrader took up",
        wanted="a notebook and the answer log beside it",
        remedy=f"Mark again; if it stays so, read {course.log_file}.",
    )


def _mark(resources: Any, mark_log: MarkLog) -> Marked:
    path = Path(resources["metadata"]["path"]) / LOG_NAME
    found = mark_log(path)
    submitted_by = resources["nbgrader"]["student"]
    if found.marks.operator != submitted_by:
        raise FaultError.one(
            path,
            "line 1, operator",
            found=found.marks.operator,
            wanted=f"{submitted_by}, whose submission this is",
            remedy="Find out how the log of another person came here; do not mark it.",
        )
    return found
