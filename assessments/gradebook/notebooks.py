"""The notebooks of the course: one pair of cells a decision, no key text, nothing to run.

A decision has an answer cell, which shows what the log says was answered, and
a graded cell, whose only output is the points. Both are code cells of comments:
nbgrader lets a comment hang on a code cell that is not graded, but not on such
a markdown cell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import nbformat
from nbformat import ValidationError

from assessments.gradebook.plan import PlannedCell
from scoring.faults import FaultError

_FILES: Any = nbformat
"""nbformat without its annotations, which are incomplete."""

NO_ANSWER = "# No answer."
"""Text of an answer cell that nothing was answered to; also what is released."""

_GRADED = "# Points from the answer log. Nothing in this notebook is run."


def read_notebook(path: Path) -> Any:
    """Read a notebook file of the course in version 4 of the format.

    Raises
    ------
    FaultError
        The file cannot be read or is no notebook.
    """
    try:
        return _FILES.read(path, as_version=4)
    # nbformat meets wrong types unprepared, so each of these is "no notebook".
    except (OSError, ValueError, TypeError, LookupError, AttributeError, ValidationError) as error:
        raise damaged(path) from error


def damaged(path: Path) -> FaultError:
    """Return the fault of a notebook of the course that is not as the kit wrote it."""
    return FaultError.one(
        path,
        "the whole file",
        found="a notebook that the kit did not write, or a damaged one",
        wanted="the notebook as it was released",
        remedy="Bring the file back from the backup. Without one, rename it and mark again: "
        "it is made anew from the form.",
    )


def write_notebook(notebook: Any, path: Path) -> None:
    """Write a notebook, with its folder if need be."""
    path.parent.mkdir(parents=True, exist_ok=True)
    _FILES.write(notebook, path)


def source_notebook(title: str, form_digest: str, cells: Sequence[PlannedCell]) -> Any:
    """Return the notebook that the assignment is made from.

    Parameters
    ----------
    title : str
        Title of the exam.
    form_digest : str
        Kept in the notebook, so that a form changed after release is noticed.
    cells : sequence of PlannedCell
        The decisions.
    """
    heading = f"# {title}\n\nA record of answers and points. Nothing here is run."
    notebook = _FILES.v4.new_notebook(
        metadata={
            "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"},
            "sinkside": {"form_digest": form_digest},
        },
        cells=[_FILES.v4.new_markdown_cell(heading, id="title")],
    )
    for cell in cells:
        notebook.cells.append(
            _FILES.v4.new_code_cell(
                NO_ANSWER,
                id=f"a{cell.number:03d}",
                metadata={"nbgrader": _nbgrader(cell.answer_id, solution=True)},
            )
        )
        notebook.cells.append(
            _FILES.v4.new_code_cell(
                _GRADED,
                id=f"d{cell.number:03d}",
                metadata={"nbgrader": _nbgrader(cell.grade_id, points=cell.maximum)},
            )
        )
    return notebook


def with_answers(released: Any, answers: Mapping[str, str]) -> Any:
    """Return a copy of the released notebook with answers put into its answer cells.

    Parameters
    ----------
    released : NotebookNode
        As nbgrader released it.
    answers : mapping of str to str
        Plain text by answer cell; every line becomes a comment.
    """
    notebook = _FILES.from_dict(released)
    for cell in notebook.cells:
        text = answers.get(_name(cell))
        if text is not None:
            cell.source = "\n".join(f"# {line}" for line in text.splitlines())
    return notebook


def with_points(notebook: Any, points: Mapping[str, float]) -> Any:
    """Set the output of every graded cell to its points, and of every other cell to nothing.

    nbgrader gives full marks to a graded cell without a plain number as its
    output, so each gets exactly one plain number or the whole notebook is refused.

    Raises
    ------
    FaultError
        A graded cell has no points, or points outside 0 and its maximum.
    """
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        cell.outputs, cell.execution_count = [], None
        about = cell.metadata.get("nbgrader", {})
        if not about.get("grade"):
            continue
        value = points.get(_name(cell))
        if type(value) is not float or not 0.0 <= value <= float(about["points"]):
            raise FaultError.one(
                "the exam notebook",
                _name(cell),
                found=value,
                wanted=f"points from 0 to {about['points']}",
                remedy="Report this: the marking and the assignment do not agree.",
            )
        cell.execution_count = 1
        cell.outputs = [
            _FILES.v4.new_output(
                "execute_result", data={"text/plain": repr(value)}, execution_count=1
            )
        ]
    return notebook


def _name(cell: Any) -> str:
    return str(cell.metadata.get("nbgrader", {}).get("grade_id", ""))


def _nbgrader(name: str, *, solution: bool = False, points: float | None = None) -> dict[str, Any]:
    about: dict[str, Any] = {
        "schema_version": 3,
        "grade_id": name,
        "cell_type": "code",
        "grade": points is not None,
        "solution": solution,
        "locked": points is not None,
        "task": False,
    }
    if points is not None:
        about["points"] = points
    return about
