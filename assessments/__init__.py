"""Exam bank, forms, seating, the nbgrader course and marking."""

from pathlib import Path

from lessons import HERE as LESSONS
from scoring.library import Library

HERE = Path(__file__).parent


def exam_library() -> Library:
    """Return the scenarios of the exam bank; none of them is in the lessons."""
    return Library([HERE / "bank"], LESSONS / "instruments")
