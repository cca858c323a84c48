"""Sittings put into a real index with real logs, for the tests of what is read from it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Literal

from scoring.marking.marks import SittingMarks
from scoring.records.index import Index, Marked
from scoring.records.log import read_log
from scoring.records.places import exam_log, lesson_log
from scoring.records.whole import write_whole_log
from scoring.settings import Settings
from tests.scoring.cohort.made import START, made_header


def put(
    settings: Settings,
    marks: Iterable[SittingMarks],
    *,
    purpose: Literal["exam", "lesson"] = "exam",
    day: int = 0,
    stored: bool = True,
) -> None:
    """Write an (empty) log for each sitting and store its marks in the index."""
    marked = []
    for number, one in enumerate(marks):
        started = START + timedelta(days=day, minutes=number)
        header = made_header(one, started, purpose)
        path = (
            exam_log(settings, one.sitting)
            if purpose == "exam"
            else lesson_log(settings, one.operator, one.sitting)
        )
        write_whole_log(path, header, (), started if one.complete else None)
        marked.append(Marked(read_log(path), one))
    if stored:
        index = Index(settings.index_url())
        index.store(marked)
        index.close()
