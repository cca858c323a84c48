"""Marks through nbgrader's own autograding: exact, unforgeable, one failure spoils one sitting."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbgrader.api import Gradebook
from sqlalchemy import create_engine, inspect, text

from assessments.gradebook.autograding import Autograder, Marked, autograder
from assessments.gradebook.checking import NOT_ASSESSED
from assessments.gradebook.course import Course
from assessments.gradebook.direct import store_marks
from assessments.gradebook.plan import NOTEBOOK, plan_cells
from assessments.gradebook.submissions import LOG_NAME, submit
from scoring.faults import FaultError
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.records.log import AnswerLog, read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.assessments.trial import (
    nothing,
    right,
    sat,
    trial_form,
    trial_library,
    trial_settings,
    wrong,
)

FORM = trial_form()
LIBRARY = trial_library()
CELLS = plan_cells(FORM, LIBRARY)


class Room:
    """A released course and a marker, shared by the tests of this file."""

    def __init__(self, folder: Path, released: Path) -> None:
        self.settings: Settings = trial_settings(folder)
        shutil.copytree(released, self.settings.records / "course")
        self.course = Course(self.settings)
        self.assignment = self.course.release(FORM, LIBRARY)
        site = read_yaml(self.settings.site, SiteValues)
        self.marker = Marker(FORM, lambda name, seed: LIBRARY.instance(name, site, seed))

    def mark_log(self, path: Path) -> Marked:
        marks = self.marker.mark(read_log(path))
        said = {
            cell.answer_id: "a line\nand another"
            for cell, mark in zip(CELLS, marks.decisions, strict=True)
            if mark.assessed
        }
        return Marked(marks, said)

    def hand_in(self, operator: str, log: AnswerLog) -> Path:
        return submit(self.course, self.assignment, operator, log.path, datetime.now(UTC))

    @contextmanager
    def grading(self) -> Iterator[Autograder]:
        with autograder(self.course, self.assignment, CELLS, self.mark_log) as opened:
            yield opened

    def points(self, operator: str) -> dict[str, float]:
        with Gradebook(self.course.url) as gradebook:
            kept = gradebook.find_submission_notebook(NOTEBOOK, self.assignment, operator)
            return {grade.name: grade.score for grade in kept.grades}

    def comments(self, operator: str) -> list[str | None]:
        with Gradebook(self.course.url) as gradebook:
            kept = gradebook.find_submission_notebook(NOTEBOOK, self.assignment, operator)
            found = {comment.name: comment.comment for comment in kept.comments}
            return [found[cell.answer_id] for cell in CELLS]


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory, released_course: Path) -> Room:
    return Room(tmp_path_factory.mktemp("course"), released_course)


def expected(marks: SittingMarks) -> dict[str, float]:
    return {cell.grade_id: mark.points for cell, mark in zip(CELLS, marks.decisions, strict=True)}


def test_the_gradebook_holds_exactly_our_points(room: Room) -> None:
    room.hand_in("OP-001", sat(room.settings, FORM, "OP-001", {"dose": wrong, "time": wrong}))
    with room.grading() as grading:
        marks = grading.mark("OP-001")
    assert room.points("OP-001") == expected(marks)
    assert 0 < sum(room.points("OP-001").values()) < sum(cell.maximum for cell in CELLS)
    assert any(0 < mark.credit < 1 for mark in marks.decisions), "no partial credit was tried"
    assert room.comments("OP-001") == [None] * len(CELLS)


def test_no_answer_is_no_points_and_says_so(room: Room) -> None:
    room.hand_in("OP-002", sat(room.settings, FORM, "OP-002", {"dose": nothing}))
    room.hand_in("OP-003", sat(room.settings, FORM, "OP-003", nothing))
    with room.grading() as grading:
        partly, none = grading.mark("OP-002"), grading.mark("OP-003")
    assert set(room.points("OP-003").values()) == {0.0}
    assert set(room.comments("OP-003")) == {NOT_ASSESSED}
    left = [mark for mark in partly.decisions if not mark.assessed]
    assert [mark.decision for mark in left] == ["dose"]
    assert room.comments("OP-002").count(NOT_ASSESSED) == 1
    assert {station.verdict for station in none.stations} == {"not assessed"}


def _forged(kind: str, notebook: Any) -> None:
    """What a candidate with the notebook in hand might try."""
    graded = [cell for cell in notebook.cells if cell.metadata.get("nbgrader", {}).get("grade")]
    if kind == "outputs":
        for cell in graded:
            full = {"text/plain": repr(float(cell.metadata.nbgrader.points))}
            cell.outputs = [nbformat.v4.new_output("execute_result", data=full)]
    elif kind == "stderr":
        for cell in graded:
            cell.outputs = [nbformat.v4.new_output("stream", name="stderr", text="x")]
    elif kind == "code":
        for cell in graded:
            cell.source = "999.0"
    elif kind == "points":
        for cell in graded:
            cell.metadata.nbgrader.points = 999
    elif kind == "metadata":
        for cell in graded:
            cell.metadata.nbgrader.grade = False
            cell.metadata.nbgrader.solution = True
    elif kind == "removed":
        notebook.cells = notebook.cells[:1]
    elif kind == "added":
        extra = nbformat.from_dict(graded[0])
        extra.metadata.nbgrader.grade_id = "d999-extra"
        notebook.cells += [extra, nbformat.from_dict(graded[1])]
    elif kind == "monkeypatch":
        notebook.cells.insert(
            0,
            nbformat.v4.new_code_cell(
                "import pathlib, nbgrader.utils\n"
                "nbgrader.utils.determine_grade = lambda cell, log=None: (99.0, 99.0)\n"
                "pathlib.Path('was-run').write_text('x')"
            ),
        )


FORGERIES = (
    "outputs", "stderr", "code", "points", "metadata", "removed", "added", "monkeypatch",
)  # fmt: skip


def test_no_forged_notebook_changes_a_mark(room: Room) -> None:
    log = sat(room.settings, FORM, "OP-010", {"dose": wrong})
    folder = room.hand_in("OP-010", log)
    with room.grading() as grading:
        honest = expected(grading.mark("OP-010"))
        for kind in FORGERIES:
            path = folder / f"{NOTEBOOK}.ipynb"
            released = nbformat.read(room.course.released(room.assignment), as_version=4)
            _forged(kind, released)
            path.write_text(json.dumps(released), encoding="utf-8")
            grading.mark("OP-010")
            assert room.points("OP-010") == honest, kind
    assert not list(room.settings.records.rglob("was-run")), "a cell of the candidate was run"


def test_files_put_beside_the_notebook_are_never_run(room: Room) -> None:
    folder = room.hand_in("OP-011", sat(room.settings, FORM, "OP-011", right))
    for name in ("sitecustomize.py", "json.py", "nbgrader_config.py"):
        (folder / name).write_text("raise SystemExit('was run')")
    with room.grading() as grading:
        assert sum(mark.credit for mark in grading.mark("OP-011").decisions) == len(CELLS)


def test_the_log_of_another_candidate_is_refused(room: Room) -> None:
    log = sat(room.settings, FORM, "OP-020", right)
    room.hand_in("OP-021", log)
    with room.grading() as grading, pytest.raises(FaultError, match="OP-020"):
        grading.mark("OP-021")
    with Gradebook(room.course.url) as gradebook:
        kept = gradebook.find_submission_notebook(NOTEBOOK, room.assignment, "OP-021")
        assert all(grade.auto_score is None for grade in kept.grades)


def test_an_edited_log_is_refused_and_the_next_is_marked(room: Room) -> None:
    edited = room.hand_in("OP-030", sat(room.settings, FORM, "OP-030", {"agent": wrong}))
    lines = (edited / LOG_NAME).read_text(encoding="utf-8").splitlines(keepends=True)
    assert "disinfectant" in lines[1]
    lines[1] = lines[1].replace("disinfectant", "site-cleaner")
    (edited / LOG_NAME).write_text("".join(lines), encoding="utf-8")
    room.hand_in("OP-031", sat(room.settings, FORM, "OP-031", right))
    with room.grading() as grading:
        with pytest.raises(FaultError, match="line 2"):
            grading.mark("OP-030")
        assert grading.mark("OP-031").operator == "OP-031"


def test_a_mark_changed_by_hand_in_the_gradebook_is_found(room: Room) -> None:
    room.hand_in("OP-040", sat(room.settings, FORM, "OP-040", wrong))
    with room.grading() as grading:
        grading.mark("OP-040")
        with Gradebook(room.course.url) as gradebook:
            kept = gradebook.find_submission_notebook(NOTEBOOK, room.assignment, "OP-040")
            kept.grades[0].manual_score = 99.0
            gradebook.db.commit()
        with pytest.raises(FaultError, match=r"99\.0"):
            grading.mark("OP-040")


def test_marks_alone_equal_the_autograded_ones(
    room: Room, tmp_path: Path, released_course: Path
) -> None:
    chosen = {"OP-050": right, "OP-051": wrong, "OP-052": nothing, "OP-053": {"time": wrong}}
    for operator, choose in chosen.items():
        room.hand_in(operator, sat(room.settings, FORM, operator, choose))
    with room.grading() as grading:
        marks = [grading.mark(operator) for operator in chosen]
    other = Room(tmp_path, released_course)
    assert store_marks(other.course.url, other.assignment, CELLS, marks) == len(marks)
    assert store_marks(other.course.url, other.assignment, CELLS, marks) == len(marks)
    for operator in chosen:
        assert other.points(operator) == room.points(operator)
        assert other.comments(operator) == room.comments(operator)
    with Gradebook(room.course.url) as first, Gradebook(other.course.url) as second:
        for operator in chosen:
            a, b = (book.find_submission(room.assignment, operator) for book in (first, second))
            assert (a.score, a.max_score, a.needs_manual_grade) == (
                b.score, b.max_score, b.needs_manual_grade,
            )  # fmt: skip


def test_marks_alone_are_stored_all_or_none(
    room: Room, tmp_path: Path, released_course: Path
) -> None:
    log = sat(room.settings, FORM, "OP-060", right)
    marks = room.marker.mark(read_log(log.path))
    other = Room(tmp_path, released_course)
    with pytest.raises(FaultError, match="more than one sitting of OP-060"):
        store_marks(other.course.url, other.assignment, CELLS, [marks, marks])
    with pytest.raises(FaultError, match="Release the form first"):
        store_marks(other.course.url, "unknown_v1", CELLS, [marks])
    short = SittingMarks(**{
        **{name: getattr(marks, name) for name in SittingMarks.__slots__},
        "operator": "OP-061", "decisions": marks.decisions[1:],
    })  # fmt: skip
    with pytest.raises(FaultError, match="OP-061"):
        store_marks(other.course.url, other.assignment, CELLS, [marks, short])
    engine = create_engine(other.course.url)
    with engine.connect() as connection:
        assert inspect(engine).has_table("student")
        assert connection.execute(text("SELECT count(*) FROM student")).scalar() == 0
    engine.dispose()


def test_a_form_changed_after_release_is_refused(room: Room) -> None:
    changed = trial_form(minutes=30)
    with pytest.raises(FaultError, match="new version"):
        room.course.release(changed, LIBRARY)
    assert room.course.release(FORM, LIBRARY) == room.assignment


def test_a_lost_release_is_made_again(tmp_path: Path, released_course: Path) -> None:
    room = Room(tmp_path, released_course)
    shutil.rmtree(room.course.root / "release")
    assert room.course.release(FORM, LIBRARY) == room.assignment
    assert room.course.released(room.assignment).exists()


def test_readers_are_not_locked_out_while_marks_are_written(room: Room) -> None:
    engine = create_engine(room.course.url)
    with engine.connect() as connection:
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
    engine.dispose()


def test_nbgraders_own_feedback_asks_no_other_machine(room: Room) -> None:
    room.hand_in("OP-070", sat(room.settings, FORM, "OP-070", {"dose": nothing}))
    with room.grading() as grading:
        grading.mark("OP-070")
        grading.write_feedback(["OP-070"])
    page = room.course.feedback(room.assignment, "OP-070").read_text(encoding="utf-8")
    assert NOT_ASSESSED in page
    assert "a line" in page
    for part in ('src="http', 'href="http', "cdnjs", "@import"):
        assert part not in page, part
