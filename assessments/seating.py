"""Seating: who may sit which exam, and how a candidate's PIN opens the sitting.

The same code and PIN open a sitting again as long as it is not closed, so that
a dead tablet can be replaced. Nothing here can tell whose hand typed the PIN:
a summative sitting is watched by a named assessor.
"""

from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from assessments.pins import (
    NOBODYS,
    WRONG_TRIES_ALLOWED,
    is_pin,
    is_token,
    keep,
    new_pin,
    new_token,
    token_digest,
)
from assessments.roster import is_operator_code
from assessments.seats import Seat, Seats
from scoring.faults import Fault, FaultError
from scoring.form import Form
from scoring.records.log import local_now
from scoring.settings import Settings

CODES_COUNTED = 5_000
"""Wrong tries are kept for so many codes at most, so that a stranger cannot fill the disk by
trying made-up codes; a working judgement, far above the staff of one department."""


@dataclass(frozen=True, slots=True)
class Slip:
    """What one candidate is handed. The PIN exists here and nowhere on disk."""

    operator: str
    pin: str
    form: str
    sitting: str


@dataclass(frozen=True, slots=True)
class Opened:
    """A sitting that a candidate has got into.

    `token` is for the page to keep; it brings the candidate back after a reload.
    """

    seat: Seat
    token: str
    again: bool


def seat(
    settings: Settings,
    form: Form,
    form_digest: str,
    codes: Iterable[str],
    *,
    new_pins: bool = False,
) -> tuple[Slip, ...]:
    """Seat candidates for a form, all of them or, when anything is wrong, nobody.

    Parameters
    ----------
    settings : Settings
        Where the records are.
    form : Form
        The exam.
    form_digest : str
        Digest of the form with its scenarios (:meth:`scoring.library.Library.form_digest`).
    codes : iterable of str
        Operator codes.
    new_pins : bool
        Give a new PIN to those already seated for this form: for a lost slip or a
        locked code. Their sitting goes on with every answer given so far.

    Returns
    -------
    tuple of Slip
        One a candidate, with the PIN in plain text: print, hand out, do not keep.

    Raises
    ------
    FaultError
        A code is malformed, stands twice, or is seated for a sitting that is
        still open; every such code is a fault of its own.
    """
    wanted = list(codes)
    seats = Seats(settings)
    with seats.held():
        readable, damaged = seats.read()
        open_seats = {seat.operator: seat for seat in readable if seat.closed is None}
        faults = [*damaged, *_faults(form, wanted, open_seats, new_pins)]
        if faults:
            raise FaultError(faults)
        tries = seats.wrong_tries()
        slips = []
        for code in wanted:
            pin = new_pin()
            old = open_seats.get(code)
            if old is None:
                placed = Seat(
                    sitting=secrets.token_hex(16),
                    operator=code,
                    form=form.id,
                    form_version=form.version,
                    form_digest=form_digest,
                    seated=_now(),
                    pin=keep(pin),
                )
            else:
                placed = old.model_copy(update={"pin": keep(pin), "token": None})
            seats.put(placed)
            tries.pop(code, None)
            slips.append(Slip(code, pin, form.name, placed.sitting))
        seats.put_wrong_tries(tries)
    return tuple(slips)


def open_sitting(settings: Settings, code: str, pin: str) -> Opened | None:
    """Open, or open again, the sitting of `code`.

    Returns
    -------
    Opened or None
        None when code and PIN do not belong together or the code is locked; which
        of the two, and whether the code exists at all, is not told apart.
    """
    code, pin = code.strip().upper(), pin.strip()
    if not is_operator_code(code):
        return None
    seats = Seats(settings)
    with seats.held():
        tries = seats.wrong_tries()
        found = seats.open_for(code)
        kept = found.pin if found is not None and found.pin is not None else NOBODYS
        right = is_pin(pin, kept)
        if found is None or not right or tries.get(code, 0) >= WRONG_TRIES_ALLOWED:
            _count_wrong(tries, code, seated=found is not None)
            seats.put_wrong_tries(tries)
            return None
        token = new_token()
        again = found.opened is not None
        placed = found.model_copy(
            update={"token": token_digest(token), "opened": found.opened or _now()}
        )
        seats.put(placed)
        if tries.pop(code, 0):
            seats.put_wrong_tries(tries)
    return Opened(placed, token, again)


def is_locked(settings: Settings, code: str) -> bool:
    """Tell whether a code, known or not, has used up its tries."""
    seats = Seats(settings)
    with seats.held():
        return seats.wrong_tries().get(code.strip().upper(), 0) >= WRONG_TRIES_ALLOWED


def find_by_token(settings: Settings, token: str) -> Seat | None:
    """Return the seat a page token belongs to, open or closed, or None."""
    seats = Seats(settings)
    with seats.held():
        return next(
            (
                seat
                for seat in seats.all()
                if seat.token is not None and is_token(token, seat.token)
            ),
            None,
        )


def close_seat(settings: Settings, sitting: str, receipt: str) -> Seat:
    """Record that a sitting is closed; its PIN is spent from now on."""
    seats = Seats(settings)
    with seats.held():
        placed = seats.get(sitting)
        if placed.closed is None:
            placed = placed.model_copy(update={"closed": _now(), "receipt": receipt, "pin": None})
            seats.put(placed)
    return placed


def forget_token(settings: Settings, sitting: str) -> None:
    """Make the page token of a sitting worthless: the candidate has left the tablet."""
    seats = Seats(settings)
    with seats.held():
        seats.put(seats.get(sitting).model_copy(update={"token": None}))


def _count_wrong(tries: dict[str, int], code: str, *, seated: bool) -> None:
    if seated or code in tries or len(tries) < CODES_COUNTED:
        tries[code] = min(tries.get(code, 0) + 1, WRONG_TRIES_ALLOWED)


def _faults(
    form: Form, codes: list[str], open_seats: dict[str, Seat], new_pins: bool
) -> list[Fault]:
    faults = []
    if not codes:
        faults.append(_fault(form, "nobody", "at least one operator code", "Name who sits."))
    for code, count in Counter(codes).items():
        held = open_seats.get(code)
        if not is_operator_code(code):
            wanted = "an operator code such as OP-017"
            faults.append(_fault(form, code, wanted, "Correct the code."))
        elif count > 1:
            faults.append(
                _fault(form, f"{code}, {count} times", "each code once", "Take the others out.")
            )
        elif held is not None and (held.form, held.form_version) != (form.id, form.version):
            other = f"{held.form}_v{held.form_version}"
            faults.append(
                _fault(
                    form,
                    f"{code}, seated for {other}",
                    "a code with no open sitting",
                    f"Let {code} finish {other} first.",
                )
            )
        elif held is not None and not new_pins:
            faults.append(
                _fault(
                    form,
                    f"{code}, already seated for an open sitting",
                    "a code with no open sitting",
                    f"Let {code} finish, or add --new-pins for a new PIN: all answers are kept.",
                )
            )
    return faults


def _fault(form: Form, found: str, wanted: str, remedy: str) -> Fault:
    return FaultError.one(
        f"seating for {form.name}", "operator codes", found=found, wanted=wanted, remedy=remedy
    ).faults[0]


def _now() -> datetime:
    return local_now().replace(microsecond=0)
