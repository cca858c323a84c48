"""Marks into the gradebook: ours against stock autograding by execution, side by side.

The same people with the same answers. The stock course has a notebook whose
check cells compute points from a cell of answers, and nbgrader runs it as it
always does; ours takes the points from the answer logs. Both run in this
process, one after the other, through nbgrader's own API.
"""

from __future__ import annotations

import json
import logging
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook
from nbgrader.api import Gradebook
from nbgrader.apps import NbGraderAPI
from traitlets.config import Config

from assessments import exam_library
from assessments.exam_form import find_form
from assessments.gradebook.autograding import Marked, autograder
from assessments.gradebook.course import Course
from assessments.gradebook.direct import store_marks
from assessments.gradebook.plan import NOTEBOOK, plan_cells
from assessments.gradebook.quiet import quiet
from assessments.gradebook.submissions import submit
from lessons import DEFAULT_SITE
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.records.log import AnswerLog, read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.assessments.trial import right, sat, wrong

FORM = find_form("hand-cleaning-a")
LIBRARY = exam_library()
CELLS = plan_cells(FORM, LIBRARY)
SITE = read_yaml(DEFAULT_SITE, SiteValues)
PEOPLE = tuple(f"OP-{number}" for number in range(1, 8))
"""One more than are timed: the first of each kind warms up imports and caches."""
MANY = 500
TARGET_AUTOGRADED, TARGET_ALONE = 10, 100

CHECKS = """
import json
POINTS = json.loads({points!r})
def points(name):
    table = POINTS[name]
    return float(table.get(json.dumps(answers.get(name), sort_keys=True), 0.0))
"""


def marker() -> Marker:
    return Marker(FORM, lambda name, seed: LIBRARY.instance(name, SITE, seed))


def everybody_sits(settings: Settings) -> dict[str, AnswerLog]:
    logs = {}
    for place, operator in enumerate(PEOPLE):
        chosen = {
            cell.decision: wrong for number, cell in enumerate(CELLS) if number % 5 == place % 5
        }
        logs[operator] = sat(settings, FORM, operator, {**chosen, "": right}, library=LIBRARY)
    return logs


def answers_of(log: AnswerLog) -> dict[str, Any]:
    names = {(cell.scenario, cell.decision): cell.grade_id for cell in CELLS}
    return {
        names[answer.scenario, answer.decision]: json.loads(json.dumps(answer.value))
        for answer in log.answers
    }


def stock_notebook(answers: dict[str, Any], table: dict[str, dict[str, float]]) -> Any:
    """A notebook as a course without us would have it: answers, then cells that check them."""

    def about(name: str, *, points: float | None = None, solution: bool = False) -> dict[str, Any]:
        return {
            "nbgrader": {
                "schema_version": 3, "grade_id": name, "cell_type": "code", "task": False,
                "grade": points is not None, "solution": solution, "locked": not solution,
                **({} if points is None else {"points": points}),
            }
        }  # fmt: skip

    cells = [
        new_code_cell(f"answers = {answers!r}", metadata=about("answers", solution=True)),
        new_code_cell(CHECKS.format(points=json.dumps(table)), metadata=about("checks")),
        *(
            new_code_cell(
                f"points({cell.grade_id!r})", metadata=about(cell.grade_id, points=cell.maximum)
            )
            for cell in CELLS
        ),
    ]
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    return new_notebook(metadata={"kernelspec": kernel}, cells=cells)


@contextmanager
def stock_api(root: Path) -> Iterator[NbGraderAPI]:
    config = Config()
    config.CourseDirectory.root = str(root)
    config.CourseDirectory.course_id = "default_course"
    with quiet(root / "nbgrader.log") as logger, warnings.catch_warnings():
        # Running kernels sets off warnings of jupyter_client and zmq that are not ours to mend.
        warnings.simplefilter("ignore")
        yield NbGraderAPI(config=config, log=logger)


@contextmanager
def stock(root: Path, logs: dict[str, AnswerLog]) -> Iterator[Callable[[str], float]]:
    """Set up autograding by execution; gives a function that returns its seconds for a person."""
    mark = marker()
    table: dict[str, dict[str, float]] = {cell.grade_id: {} for cell in CELLS}
    for log in logs.values():
        answers = answers_of(log)
        for cell, one in zip(CELLS, mark.mark(read_log(log.path)).decisions, strict=True):
            table[cell.grade_id][json.dumps(answers[cell.grade_id], sort_keys=True)] = one.points
    source = root / "source" / FORM.name / f"{NOTEBOOK}.ipynb"
    source.parent.mkdir(parents=True)
    nbformat.write(stock_notebook({}, table), source)
    with stock_api(root) as api:
        assert api.generate_assignment(FORM.name)["success"]

        def seconds(operator: str) -> float:
            folder = root / "submitted" / operator / FORM.name
            folder.mkdir(parents=True)
            released = nbformat.read(root / "release" / FORM.name / f"{NOTEBOOK}.ipynb", 4)
            released.cells[0].source = f"answers = {answers_of(logs[operator])!r}"
            nbformat.write(released, folder / f"{NOTEBOOK}.ipynb")
            start = time.perf_counter()
            result = api.autograde(FORM.name, operator)
            taken = time.perf_counter() - start
            assert result["success"], result
            return taken

        yield seconds


@contextmanager
def ours(
    course: Course, logs: dict[str, AnswerLog], marks: list[SittingMarks]
) -> Iterator[Callable[[str], float]]:
    """Set up autograding from the logs; the same for ours, which also adds to `marks`."""
    mark = marker()
    assignment = course.release(FORM, LIBRARY)

    def mark_log(path: Path) -> Marked:
        return Marked(mark.mark(read_log(path)), {})

    with autograder(course, assignment, CELLS, mark_log) as grading:

        def seconds(operator: str) -> float:
            start = time.perf_counter()
            submit(course, assignment, operator, logs[operator].path, datetime.now(UTC))
            marks.append(grading.mark(operator))
            return time.perf_counter() - start

        yield seconds


def scores(url: str) -> dict[str, float]:
    with Gradebook(url) as gradebook:
        return {
            submission.student_id: submission.score
            for submission in gradebook.assignment_submissions(FORM.name)
        }


def test_gradebook_speed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    logging.getLogger("asyncio").setLevel(logging.ERROR)
    settings = Settings(records=tmp_path / "records", site=DEFAULT_SITE)
    logs = everybody_sits(settings)
    course = Course(settings)
    marks: list[SittingMarks] = []
    with stock(tmp_path / "stock", logs) as by_stock, ours(course, logs, marks) as by_us:
        # One after the other for each person, so that other programs slow both alike.
        pairs = [(by_stock(operator), by_us(operator)) for operator in PEOPLE][1:]
    stock_scores = scores(f"sqlite:///{(tmp_path / 'stock' / 'gradebook.db').as_posix()}")
    our_scores = scores(course.url)
    assert our_scores == pytest.approx(stock_scores, abs=1e-9), "the two do not mark alike"

    cohort = [replace(marks[n % len(marks)], operator=f"XX-{n:04d}") for n in range(MANY)]
    start = time.perf_counter()
    assert store_marks(course.url, FORM.name, CELLS, cohort) == MANY
    alone = (time.perf_counter() - start) / MANY
    stored = scores(course.url)
    assert stored["XX-0003"] == pytest.approx(our_scores[PEOPLE[3]], abs=1e-12)

    slow, quick = (median(times) for times in zip(*pairs, strict=True))
    ratio = median(one / other for one, other in pairs)
    with capsys.disabled():
        print(
            f"\ngradebook, {len(CELLS)} graded decisions, median of {len(pairs)} submissions: "
            f"stock autograde {slow * 1e3:,.0f} ms, ours with notebook {quick * 1e3:,.1f} ms "
            f"({ratio:.1f} x, target {TARGET_AUTOGRADED}); marks alone, {MANY} sittings in one "
            f"transaction {alone * 1e3:.2f} ms each ({slow / alone:,.0f} x, target {TARGET_ALONE})"
        )
    # Far too slow is a failure; the figures themselves are reported against the targets.
    assert ratio > TARGET_AUTOGRADED / 3
    assert slow / alone > TARGET_ALONE / 3
