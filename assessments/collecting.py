"""Which sittings of a form can be marked, and why the others cannot.

The seats say who was to sit; the answer logs say what was done. A log counts
only when it is the log of the seat it lies under, whole, handed in, and with
the receipt that was given at the time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assessments.seating import close_seat
from assessments.seats import Seat, Seats
from scoring.faults import FaultError
from scoring.form import Form
from scoring.records.log import read_log
from scoring.records.places import exam_log, find_logs
from scoring.records.reading import ReadLog
from scoring.settings import Settings

NOBODY = "unknown"
"""Stands for the operator of a log that cannot be read and that nobody was seated for."""

TELL_APART = (
    "Keep the file as it is. Bring the log back from the backup and mark again, or let the person "
    "sit another form."
)

MOVE_AWAY = (
    "Find out who put the log there. If its seat file was lost, bring that back from the backup; "
    "else move the log out of the records folder."
)


@dataclass(frozen=True, slots=True)
class HandedIn:
    """A sitting that can be marked."""

    seat: Seat
    path: Path
    log: ReadLog


@dataclass(frozen=True, slots=True)
class NotAssessed:
    """A sitting without marks.

    Attributes
    ----------
    operator, sitting : str
        Whose and which.
    reason : str
        Why, as a sentence.
    waiting : bool
        It may still be handed in; nothing is wrong with it.
    remedy : str
        What the trainer can do; empty when there is nothing to do but wait.
    kept : bool
        The log is sound but cannot be marked now; marks it earned before stand.
    """

    operator: str
    sitting: str
    reason: str
    waiting: bool = False
    remedy: str = ""
    kept: bool = False


def collect(settings: Settings, form: Form) -> tuple[tuple[HandedIn, ...], tuple[NotAssessed, ...]]:
    """Return the sittings of `form` that can be marked, and those that cannot, with the reason."""
    seats, damaged = Seats(settings).read()
    ready: list[HandedIn] = []
    left: list[NotAssessed] = []
    for seat in seats:
        if (seat.form, seat.form_version) != (form.id, form.version):
            continue
        try:
            found = _of_seat(settings, seat)
        except FaultError as error:
            found = NotAssessed(
                seat.operator, seat.sitting, said(error), remedy=error.faults[0].remedy
            )
        if isinstance(found, HandedIn):
            ready.append(found)
        else:
            left.append(found)
    left.extend(
        NotAssessed(NOBODY, Path(fault.file).stem, f"seat file: {fault.found}", remedy=fault.remedy)
        for fault in damaged
    )
    left.extend(_strays(settings, form, {seat.sitting for seat in seats}))
    left.sort(key=lambda each: (each.operator, each.sitting))
    ready.sort(key=lambda sat: (sat.seat.operator, sat.log.header.started))
    return tuple(ready), tuple(left)


def said(error: FaultError) -> str:
    """Return a fault as one sentence without the path of this machine."""
    fault = error.faults[0]
    return f"{fault.item}: {fault.found}"


def _of_seat(settings: Settings, seat: Seat) -> HandedIn | NotAssessed:
    path = exam_log(settings, seat.sitting)

    def not_assessed(reason: str, *, waiting: bool = False) -> NotAssessed:
        return NotAssessed(
            seat.operator, seat.sitting, reason, waiting, "" if waiting else TELL_APART
        )

    if not path.exists():
        if seat.opened is None:
            return not_assessed("has not signed in yet", waiting=True)
        return not_assessed("the answer log is missing")
    log = read_log(path)
    header = log.header
    if (header.sitting, header.operator) != (seat.sitting, seat.operator):
        return not_assessed(f"line 1: the log of {header.operator}, sitting {header.sitting}")
    if log.close is None:
        if seat.closed is not None:
            return not_assessed("the closing line, which was written at handing in, is missing")
        answers = "answer" if len(log.answers) == 1 else "answers"
        return not_assessed(f"not handed in yet, {len(log.answers)} {answers} so far", waiting=True)
    if log.damage is not None:
        return not_assessed(f"{log.damage.item}: {log.damage.found}")
    if seat.closed is None:
        # The kernel died between the closing line and the seat; nobody has another receipt.
        seat = close_seat(settings, seat.sitting, log.receipt)
    if seat.receipt != log.receipt:
        return not_assessed(
            f"receipt {log.receipt}, but {seat.receipt} was given out: the log was rewritten"
        )
    return HandedIn(seat, path, log)


def _strays(settings: Settings, form: Form, seated: set[str]) -> Iterator[NotAssessed]:
    """Find logs that nobody was seated for: somebody put them there."""
    for path in find_logs(settings, "exam"):
        if path.stem in seated:
            continue
        try:
            header = read_log(path).header
        except FaultError as error:
            why = f"nobody was seated for this log; {said(error)}"
            yield NotAssessed(NOBODY, path.stem, why, remedy=MOVE_AWAY)
            continue
        if (header.form, header.form_version) == (form.id, form.version):
            why = "nobody was seated for this sitting"
            yield NotAssessed(header.operator, path.stem, why, remedy=MOVE_AWAY)
