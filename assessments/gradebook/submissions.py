"""The submitted folder of a candidate: the notebook for the record, and a copy of the log."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

from assessments.gradebook.course import Course
from assessments.gradebook.folders import remove_folder
from assessments.gradebook.notebooks import read_notebook, write_notebook
from assessments.gradebook.plan import NOTEBOOK
from scoring.faults import FaultError

LOG_NAME = "answers.jsonl"
"""The answer log beside a submitted notebook; no file of this name is ever in the source."""


def submit(
    course: Course, assignment: str, operator: str, log: Path, closed: datetime.datetime
) -> Path:
    """Make, or make again, the submission of one candidate, and return its folder.

    The notebook is the released one: what was answered stands in the log.

    Raises
    ------
    FaultError
        The folder cannot be written.
    """
    folder = course.submitted(assignment, operator)
    try:
        remove_folder(folder)
        folder.mkdir(parents=True)
        write_notebook(read_notebook(course.released(assignment)), folder / f"{NOTEBOOK}.ipynb")
        shutil.copyfile(log, folder / LOG_NAME)
        at = closed.astimezone(datetime.UTC).strftime("%Y-%m-%d %H:%M:%S UTC")
        (folder / "timestamp.txt").write_text(f"{at}\n", encoding="utf-8")
    except OSError as error:
        raise FaultError.one(
            folder,
            "submission",
            found=error.strerror or type(error).__name__,
            wanted="a folder that can be written",
            remedy="Free some space or check the rights on the course folder, then mark again.",
        ) from error
    return folder
