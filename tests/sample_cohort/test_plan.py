from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from sample_cohort.plan import LEFT_BLANK, NEW_IN_POST, ON_LEAVE, OPERATORS, STOPPED, seats
from scoring.form import Form


def test_ninety_two_of_ninety_six_sittings_take_place(forms: Sequence[Form]) -> None:
    planned = list(seats(forms, 1))
    assert len(OPERATORS) * len(forms) == 96
    assert len(planned) == 92
    assert len({seat.sitting for seat in planned}) == 92


def test_who_is_missing_and_who_stops_is_as_the_data_card_says(forms: Sequence[Form]) -> None:
    planned = list(seats(forms, 1))
    assert [seat.form for seat in planned if seat.operator == NEW_IN_POST] == [3]
    assert ON_LEAVE not in {(seat.operator, seat.form) for seat in planned}
    stopped = {(seat.operator, seat.form): seat.answers for seat in planned if seat.answers}
    assert stopped == STOPPED
    assert [(seat.operator, seat.form) for seat in planned if seat.blank_last] == [LEFT_BLANK]


def test_nobody_sits_at_a_weekend_or_at_night(forms: Sequence[Form]) -> None:
    for seat in seats(forms, 1):
        assert seat.started.weekday() < 5
        assert 6 <= seat.started.hour < 14
        assert seat.started.utcoffset() is not None


def test_forms_are_sat_one_after_the_other_over_months(forms: Sequence[Form]) -> None:
    times: dict[int, list] = {}
    for seat in seats(forms, 1):
        times.setdefault(seat.form, []).append(seat.started)
    for place in range(len(forms) - 1):
        assert max(times[place]) + timedelta(weeks=8) < min(times[place + 1])


def test_one_form_alone_can_be_sat(forms: Sequence[Form]) -> None:
    alone = list(seats(forms[:1], 1))
    assert {seat.operator for seat in alone} == set(OPERATORS)
