"""Marking a form: from the handed-in logs to gradebook, index and feedback."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from assessments import exam_library
from assessments.collecting import NOBODY, HandedIn, NotAssessed, collect, said
from assessments.feedback import (
    Sheet,
    feedback_html,
    last_answers,
    not_assessed_html,
    said_answer,
    said_question,
)
from assessments.gradebook.autograding import Autograder, Marked, autograder
from assessments.gradebook.course import Course
from assessments.gradebook.plan import PlannedCell, plan_cells
from assessments.gradebook.submissions import submit
from assessments.gradebook.troubles import gradebook_troubles
from assessments.paper import Paper
from lessons import lesson_library
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.marking.attempts import counting
from scoring.marking.marks import SittingMarks
from scoring.marking.same_ground import GroundChanged
from scoring.marking.sitting import Marker
from scoring.records.index import Index
from scoring.records.index import Marked as Indexed
from scoring.records.log import read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.whole_file import write_whole
from scoring.yaml_file import read_yaml

Progress = Callable[[int, int], None]
"""Called with how many sittings are done and how many there are."""


@dataclass(frozen=True, slots=True)
class MarkingReport:
    """What one run of marking did.

    Attributes
    ----------
    form : str
        Name of the form.
    marked : tuple of SittingMarks
        Every sitting that was marked, those that do not count too.
    counted : tuple of str
        Operators whose counting sitting stands in the gradebook now.
    not_assessed : tuple of NotAssessed
        Sittings without marks, each with its reason.
    gradebook : str
        SQLAlchemy URL of the gradebook.
    feedback : Path
        Folder of the feedback sheets, one file an operator code.
    """

    form: str
    marked: tuple[SittingMarks, ...]
    counted: tuple[str, ...]
    not_assessed: tuple[NotAssessed, ...]
    gradebook: str
    feedback: Path


@dataclass(frozen=True, slots=True)
class _Room:
    """What marking one form needs, made once."""

    settings: Settings
    form: Form
    library: Library
    site: SiteValues
    marker: Marker
    cells: tuple[PlannedCell, ...]
    lessons: Library

    def mark_log(self, path: Path) -> Marked:
        """Verify and mark one log, and say its answers in words."""
        log = read_log(path)
        marks = self.marker.mark(log)
        paper = Paper(self.form, self.library, self.site, log.header.scenarios, log.header.language)
        answers = last_answers(log.answers)
        told = {}
        for cell, question, mark in zip(self.cells, paper.questions, marks.decisions, strict=True):
            text = said_answer(paper, question, mark, answers.get((cell.scenario, cell.decision)))
            if text:
                told[cell.answer_id] = f"{said_question(paper, question)}\n{text}"
        return Marked(marks, told)


def feedback_folder(settings: Settings, form: Form) -> Path:
    """Return ``<records>/feedback/<form>``."""
    return settings.records / "feedback" / form.name


def mark_form(
    settings: Settings,
    form: Form,
    *,
    library: Library | None = None,
    progress: Progress | None = None,
    gradebook_url: str = "",
) -> MarkingReport:
    """Mark every handed-in sitting of `form`. May be run again at any time.

    Parameters
    ----------
    settings : Settings
        Records and site values.
    form : Form
        An exam; :func:`assessments.exam_form.find_form` finds it by name.
    library : Library, optional
        The exam bank unless given.
    progress : callable, optional
        Called with done and total.
    gradebook_url : str
        SQLAlchemy URL of the gradebook; empty means SQLite in ``<records>/course``.

    Returns
    -------
    MarkingReport
        One sitting that cannot be marked spoils that sitting only and stands in
        `not_assessed` with its reason.

    Raises
    ------
    FaultError
        Nothing can be marked at all: the form was changed after release, the site
        values cannot be read, or a folder cannot be written.
    RecordsError
        The gradebook or the index cannot be used.
    """
    books = library or exam_library()
    site = read_yaml(settings.site, SiteValues)
    course = Course(settings, gradebook_url)
    marker = Marker(form, lambda name, seed: books.instance(name, site, seed))
    room = _Room(settings, form, books, site, marker, plan_cells(form, books), lesson_library())
    with gradebook_troubles(course.url):
        return _mark_form(room, course, progress)


def _mark_form(room: _Room, course: Course, progress: Progress | None) -> MarkingReport:
    settings, form = room.settings, room.form
    assignment = course.release(form, room.library)
    ready, left = collect(settings, form)
    marked, failed = _mark_all(room, ready)
    _index(settings, marked, [each for each in (*left, *failed) if _refused(each)])
    tries = [(sat.log.header.started, marks) for sat, marks in marked]
    chosen = counting(tries, form.counts)
    counting_ids = {marks.sitting for _, marks in chosen.values()}
    to_store = [(sat, marks) for sat, marks in marked if marks.sitting in counting_ids]
    stored: list[str] = []
    with autograder(course, assignment, room.cells, room.mark_log) as grading:
        for done, (sat, _) in enumerate(to_store, start=1):
            try:
                _store(room, course, assignment, grading, sat)
                stored.append(sat.seat.operator)
            except FaultError as error:
                failed.append(_not_assessed(sat, error))
            if progress is not None:
                progress(done, len(to_store))
        grading.write_feedback(stored)
    not_assessed = (*left, *failed)
    refused = {each.operator: each for each in not_assessed if _refused(each)}
    for operator, each in refused.items():
        if operator not in stored and operator != NOBODY:
            course.withdraw(assignment, operator)
            _write_refusal(room, each)
    return MarkingReport(
        form=form.name,
        marked=tuple(marks for _, marks in marked),
        counted=tuple(stored),
        not_assessed=not_assessed,
        gradebook=course.url,
        feedback=feedback_folder(settings, form),
    )


def _mark_all(
    room: _Room, ready: tuple[HandedIn, ...]
) -> tuple[list[tuple[HandedIn, SittingMarks]], list[NotAssessed]]:
    marked, failed = [], []
    for sat in ready:
        try:
            marked.append((sat, room.marker.mark(sat.log)))
        except FaultError as error:
            failed.append(_not_assessed(sat, error))
    return marked, failed


def _not_assessed(sat: HandedIn, error: FaultError) -> NotAssessed:
    return NotAssessed(
        sat.seat.operator,
        sat.seat.sitting,
        said(error),
        remedy=error.faults[0].remedy,
        kept=isinstance(error, GroundChanged),
    )


def _refused(each: NotAssessed) -> bool:
    """Tell whether marks of this sitting must not stand: its log is refused, not just unmarked."""
    return not each.waiting and not each.kept


def _index(
    settings: Settings,
    marked: list[tuple[HandedIn, SittingMarks]],
    refused: list[NotAssessed],
) -> None:
    index = Index(settings.index_url())
    try:
        index.forget(each.sitting for each in refused)
        index.store([Indexed(sat.log, marks) for sat, marks in marked])
    finally:
        index.close()


def _store(
    room: _Room, course: Course, assignment: str, grading: Autograder, sat: HandedIn
) -> None:
    """Bring one sitting into the gradebook and write its feedback."""
    operator, log = sat.seat.operator, sat.log
    submit(
        course, assignment, operator, sat.path, log.close.at if log.close else log.header.started
    )
    marks = grading.mark(operator)
    cut = room.form.cut if room.form.cut is not None else room.site.passing.cut
    paper = Paper.of(log.header, room.form, room.library, room.site)
    sheet = Sheet(paper, sat, marks, cut, room.lessons)
    page = feedback_folder(room.settings, room.form) / f"{operator}.html"
    write_whole(page, feedback_html(sheet))


def _write_refusal(room: _Room, each: NotAssessed) -> None:
    language = room.settings.language
    title = room.form.title.get(language, room.form.title["en"])
    page = feedback_folder(room.settings, room.form) / f"{each.operator}.html"
    write_whole(page, not_assessed_html(title, each.operator, each.reason, language))
