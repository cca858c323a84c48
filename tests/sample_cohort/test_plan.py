from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from sample_cohort.plan import (
    FORMS_SAT,
    LEFT_BLANK,
    NEW,
    ON_LEAVE,
    OPERATORS,
    PEOPLE,
    SHIFTS,
    SITES,
    STOPPED,
    seats,
)
from scoring.form import Form


def test_forty_eight_people_at_two_sites_on_three_shifts() -> None:
    assert Counter(person.site for person in PEOPLE.values()) == dict.fromkeys(SITES, 24)
    assert Counter(person.shift for person in PEOPLE.values()) == dict.fromkeys(SHIFTS, 16)
    assert {code: PEOPLE[code].since for code in NEW} == NEW
    for code in set(OPERATORS) - NEW.keys():
        since = PEOPLE[code].since
        assert since is not None
        assert since.year < 2024


def test_whoever_was_there_all_year_sits_each_form_once(forms: Sequence[Form]) -> None:
    assert tuple(form.id for form in forms) == FORMS_SAT
    sat: dict[str, list[int]] = {}
    for seat in seats(forms, 1):
        sat.setdefault(seat.operator, []).append(seat.form)
    for code in set(OPERATORS) - NEW.keys() - ON_LEAVE.keys():
        assert sorted(sat[code]) == list(range(12)), code
    for code in NEW.keys() | ON_LEAVE.keys():
        assert len(set(sat[code])) == len(sat[code]) < 12, code
    assert len(sat["OP-124"]) == 1


def test_who_is_missing_and_who_stops_is_as_planned(forms: Sequence[Form]) -> None:
    planned = list(seats(forms, 1))
    assert len({seat.sitting for seat in planned}) == len(planned) == 548
    for code, months in ON_LEAVE.items():
        assert not {seat.month for seat in planned if seat.operator == code} & set(months)
    stopped = {(seat.operator, seat.month): seat.answers for seat in planned if seat.answers}
    assert stopped == STOPPED
    assert [(seat.operator, seat.month) for seat in planned if seat.blank_last] == [LEFT_BLANK]


def test_there_are_48_administrations_of_eight_people_or_more(forms: Sequence[Form]) -> None:
    sat = Counter(
        (seat.form, PEOPLE[seat.operator].site, seat.started.month) for seat in seats(forms, 1)
    )
    assert len(sat) == 48
    assert min(sat.values()) == 8


def test_nobody_sits_at_a_weekend_at_night_or_before_the_first_day(forms: Sequence[Form]) -> None:
    for seat in seats(forms, 1):
        assert seat.started.weekday() < 5
        assert 6 <= seat.started.hour < 12
        assert seat.started.utcoffset() is not None
        assert seat.started.month == seat.month + 1
        since = PEOPLE[seat.operator].since
        assert since is not None
        assert seat.started.date() > since


def test_one_form_alone_can_be_sat(forms: Sequence[Form]) -> None:
    assert {seat.form for seat in seats(forms[:1], 1)} == {0}
