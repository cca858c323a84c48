"""Who works where, who sits which form when, who is missing, who does not finish: on purpose."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from scoring.cohort.invented import INVENTED
from scoring.form import Form
from scoring.instance import draw
from scoring.records.people import Person

SITES: dict[str, str] = {"Ostrevale": "invented-three-bays", "Merrowholt": "invented-two-bays"}
"""Two invented places, each with one of the shipped site values."""

SHIFTS = ("early", "late", "night")

YEAR = 2025
MONTHS = 12

PEOPLE_A_SITE = 24

NEW: dict[str, date] = {
    "OP-120": date(2025, 2, 3),
    "OP-121": date(2025, 3, 3),
    "OP-122": date(2025, 4, 1),
    "OP-221": date(2025, 2, 3),
    "OP-222": date(2025, 3, 3),
    "OP-223": date(2025, 5, 5),
    "OP-124": date(2025, 12, 1),
}
"""New starters, by their first day. The last has sat one form only: too little evidence."""

LONG_IN_POST = (2014, 2023)
"""Years in which the others started, both included: long enough to have learnt what they will."""

ON_LEAVE: dict[str, tuple[int, ...]] = {"OP-109": (2, 3, 4), "OP-215": (8,)}
"""Months of absence, counted from 0."""

STOPPED = {("OP-113", 4): 8, ("OP-219", 7): 13}
"""Sittings never handed in, by operator and month: left after so many answers."""

LEFT_BLANK = ("OP-116", 9)
"""Operator and month of a sitting handed in with the last scenario not answered at all."""

FORMS_SAT = (
    *(f"hand-cleaning-{letter}" for letter in "abcd"),
    *(f"five-stations-{letter}" for letter in "abcdefg"),
    "sample-broken-key",
)
"""Ids of the forms of the invented year. The last one holds the scenario whose key is wrong, and
comes with the sample cohort; the others come with the kit."""

GROUPS = 4
"""Half a site: who sits the same form in the same month. So four forms are sat each month."""

EXAM_DAYS = 10
"""Working days of a month over which people sit. An assumption."""


def _people() -> dict[str, Person]:
    found = {}
    for number, site in enumerate(SITES, start=1):
        for rank in range(1, PEOPLE_A_SITE + 1):
            code = f"OP-{100 * number + rank}"
            found[code] = Person(code, site, SHIFTS[rank % len(SHIFTS)], _since(code))
    return found


def _since(code: str) -> date:
    first, last = LONG_IN_POST
    year = first + int(draw(0, "in-post", code) * (last - first + 1))
    return NEW.get(code) or date(year, 1 + int(draw(0, "in-post-month", code) * 12), 1)


PEOPLE: dict[str, Person] = _people()
"""48 invented operators by code."""

OPERATORS: tuple[str, ...] = tuple(PEOPLE)


SITTINGS = len(OPERATORS) * MONTHS
"""Sittings if everybody had sat every month."""


def forms_sat(forms: Iterable[Form]) -> tuple[Form, ...]:
    """Return those of `forms` that the invented departments sit, in the plan's order."""
    known = {form.id: form for form in forms}
    return tuple(known[name] for name in FORMS_SAT if name in known)


@dataclass(frozen=True, slots=True)
class Seat:
    """One sitting of the plan.

    Attributes
    ----------
    operator : str
    month : int
        From 0.
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
    month: int
    form: int
    sitting: str
    started: datetime
    answers: int | None
    blank_last: bool


def seats(forms: Sequence[Form], seed: int) -> Iterator[Seat]:
    """Give every sitting that takes place, month by month and operator by operator.

    Each group sits one form a month and every form once; the groups start at different
    forms, so that a form is not harder because it was sat later.

    Parameters
    ----------
    forms : sequence of Form
        At least one.
    seed : int
        At least 0.
    """
    for month in range(MONTHS):
        for rank, operator in enumerate(OPERATORS):
            group = rank * GROUPS // len(OPERATORS)
            place = (month + group * len(forms) // GROUPS) % len(forms)
            started = _start(month, rank, operator, seed)
            since = PEOPLE[operator].since
            if since is not None and started.date() < since:
                continue
            if month in ON_LEAVE.get(operator, ()):
                continue
            yield Seat(
                operator=operator,
                month=month,
                form=place,
                sitting=f"{INVENTED}{forms[place].name}-{operator.lower()}",
                started=started,
                answers=STOPPED.get((operator, month)),
                blank_last=(operator, month) == LEFT_BLANK,
            )


def working_day(month: int, number: int) -> datetime:
    """Return the start of the early shift on a working day: the `number`-th, from 0."""
    day = datetime(YEAR, month + 1, 1, 6, 30, tzinfo=UTC)
    passed = -1
    while True:
        passed += day.weekday() < 5
        if passed == number:
            return day
        day += timedelta(days=1)


def _start(month: int, rank: int, operator: str, seed: int) -> datetime:
    # New starters of the month come in its second week: nobody is examined on the first day.
    minute = int(draw(seed, "start", operator, str(month)) * 55)
    day = 5 + rank % EXAM_DAYS if operator in NEW else rank % EXAM_DAYS
    return working_day(month, day) + timedelta(hours=rank // EXAM_DAYS, minutes=minute)
