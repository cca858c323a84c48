"""Who sits which form when, who is missing, and who does not finish: all on purpose."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from scoring.cohort.invented import INVENTED
from scoring.form import Form
from scoring.instance import draw

OPERATORS: tuple[str, ...] = tuple(f"OP-{number}" for number in range(101, 125))
"""24 invented operator codes."""

NEW_IN_POST = "OP-124"
"""Came last and has sat only the last form: one sitting is too little evidence."""

ON_LEAVE = ("OP-109", 2)
"""Was on leave when the third form was sat (forms counted from 0)."""

STOPPED = {("OP-113", 2): 8, ("OP-119", 1): 13}
"""Sittings never handed in, by operator and form: left after so many answers."""

LEFT_BLANK = ("OP-116", 3)
"""Handed in with the last scenario not answered at all."""

FORMS_SAT = tuple(f"hand-cleaning-{letter}" for letter in "abcd")
"""Ids of the forms of the invented year, in the order in which they are sat."""

FIRST_DAY = datetime(2025, 2, 3, 6, 30, tzinfo=UTC)
"""The first exam day of the invented year, a Monday at the start of the early shift."""

BETWEEN_FORMS = timedelta(weeks=13)
"""A form each quarter. An assumption."""

EXAM_DAYS = 10
"""Working days over which a form is sat, two or three operators a day. An assumption."""


def forms_sat(forms: Iterable[Form]) -> tuple[Form, ...]:
    """Return those of `forms` that the invented department sits, in its order."""
    known = {form.id: form for form in forms}
    return tuple(known[name] for name in FORMS_SAT if name in known)


@dataclass(frozen=True, slots=True)
class Seat:
    """One sitting of the plan.

    Attributes
    ----------
    operator : str
    form : int
        Place of the form in the sequence, from 0.
    sitting : str
        Id of the sitting.
    started : datetime
    answers : int or None
        Answers given before leaving without handing in; None for a whole sitting.
    blank_last : bool
        The last scenario is handed in without an answer.
    """

    operator: str
    form: int
    sitting: str
    started: datetime
    answers: int | None
    blank_last: bool


def seats(forms: Sequence[Form], seed: int) -> Iterator[Seat]:
    """Give every sitting that takes place, form by form and operator by operator.

    Parameters
    ----------
    forms : sequence of Form
        In the order in which they are sat.
    seed : int
        At least 0.
    """
    for place, form in enumerate(forms):
        for rank, operator in enumerate(OPERATORS):
            new = operator == NEW_IN_POST and place < len(forms) - 1
            if new or (operator, place) == ON_LEAVE:
                continue
            yield Seat(
                operator=operator,
                form=place,
                sitting=f"{INVENTED}{form.name}-{operator.lower()}",
                started=_start(place, rank, operator, seed),
                answers=STOPPED.get((operator, place)),
                blank_last=(operator, place) == LEFT_BLANK,
            )


def _start(form: int, rank: int, operator: str, seed: int) -> datetime:
    day = rank % EXAM_DAYS
    weekend = 2 * (day // 5)
    minute = int(draw(seed, "start", operator, str(form)) * 55)
    return (
        FIRST_DAY
        + form * BETWEEN_FORMS
        + timedelta(days=day + weekend, hours=2 * (rank // EXAM_DAYS), minutes=minute)
    )
