"""Sittings put into a real index with real logs, for the tests of what is read from it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Literal

from scoring import KIT_VERSION
from scoring.attempt import Header
from scoring.marking.marks import SittingMarks
from scoring.records.index import Index, Marked
from scoring.records.log import read_log
from scoring.records.places import exam_log, lesson_log
from scoring.records.whole import write_whole_log
from scoring.settings import Settings

START = datetime(2025, 3, 3, 8, 0, tzinfo=UTC)


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
        form, _, version = one.form.rpartition("_v")
        started = START + timedelta(days=day, minutes=number)
        header = Header(
            kit=KIT_VERSION,
            sitting=one.sitting,
            operator=one.operator,
            purpose=purpose,
            form=form,
            form_version=int(version),
            form_digest="f" * 64,
            site="invented-bays",
            site_digest="5" * 64,
            language="en",
            scenarios=(),
            started=started,
        )
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
