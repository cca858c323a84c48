"""Writing the log of a sitting that is already over, in one go: invented data, fixtures."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from scoring.attempt import Answer, AnswerValue, Close, Header
from scoring.records import disk
from scoring.records.chain import line_digest, receipt_code, to_bytes


class Given(NamedTuple):
    """One answer of a finished sitting; the fields are those of a log's answer line."""

    at: datetime
    scenario: str
    decision: str
    value: AnswerValue
    seconds: float


def write_whole_log(
    path: Path, header: Header, answers: Iterable[Given], closed: datetime | None
) -> str:
    """Write a log with one write and one flush instead of one for each answer.

    Parameters
    ----------
    path : Path
        A new file.
    header : Header
    answers : iterable of Given
    closed : datetime or None
        When it was handed in; None leaves the sitting open.

    Returns
    -------
    str
        The receipt code, empty for an open sitting.

    Raises
    ------
    RecordsError
        The file is there already or cannot be written.
    """
    raws = [to_bytes(header)]

    def add(line: Answer | Close) -> None:
        raws.append(to_bytes(line))

    for seq, given in enumerate(answers, start=1):
        add(Answer(seq=seq, previous=line_digest(raws[-1]), **given._asdict()))
    if closed is not None:
        given_answers = len(raws) - 1
        add(
            Close(
                seq=given_answers + 1,
                at=closed,
                answers=given_answers,
                previous=line_digest(raws[-1]),
            )
        )
    disk.create(path, b"\n".join(raws) + b"\n")
    return receipt_code(line_digest(raws[-1])) if closed is not None else ""
