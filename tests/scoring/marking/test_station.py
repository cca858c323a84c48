"""The verdict of a station: the cut, its borderline, and the gates that no total opens."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.marking.marks import DecisionMark
from scoring.marking.station import station_result

BLANK = DecisionMark("some-scenario", "one", "soak", True, 1.0, 1.0, "right")


def marks(*credits: float | None, critical: bool = False) -> list[DecisionMark]:
    return [
        dataclasses.replace(
            BLANK,
            decision=f"d{number}",
            assessed=earned is not None,
            credit=earned or 0.0,
            critical=critical,
        )
        for number, earned in enumerate(credits)
    ]


@pytest.mark.parametrize(
    ("given_marks", "wanted"),
    [
        ((None, None, None), "not assessed"),
        ((0, 0, 0, 0, 0), "not yet"),
        ((1, 1, 1, 0, 0, 0), "not yet"),
        # 3 of 4 against 0.8: Lord's error is sqrt(.75 * .25 / 3) = 0.25.
        ((1, 1, 1, 0), "borderline"),
        # 16 of 20: on the cut.
        ((*[1] * 16, *[0] * 4), "borderline"),
        # 18 of 20: 0.9 is 0.1 above; the error is sqrt(.09 / 19) = 0.069.
        ((*[1] * 18, *[0] * 2), "competent"),
        # 14 of 20: 0.1 below; the error is sqrt(.21 / 19) = 0.105.
        ((*[1] * 14, *[0] * 6), "borderline"),
        ((*[1] * 13, *[0] * 7), "not yet"),
        # Three right answers are too little evidence, four are just enough.
        ((1, 1, 1), "borderline"),
        ((1, 1, 1, 1), "competent"),
    ],
)
def test_verdict_by_hand(given_marks: tuple[float | None, ...], wanted: str) -> None:
    assert station_result("soak", marks(*given_marks), 0.8).verdict == wanted


def test_unanswered_counts_against_the_share_and_not_as_evidence() -> None:
    result = station_result("soak", marks(1, 1, None, None), 0.8)
    assert (result.points, result.maximum, result.share) == (2.0, 4.0, 0.5)
    assert (result.decisions, result.unanswered) == (2, 2)
    all_answered = station_result("soak", marks(1, 1, 0, 0), 0.8)
    assert result.high - result.low > all_answered.high - all_answered.low


def test_weights_shift_the_share() -> None:
    heavy = dataclasses.replace(BLANK, decision="heavy", maximum=3.0)
    assert station_result("soak", [heavy, *marks(0)], 0.8).share == 0.75


def test_one_unsafe_critical_answer_fails_whatever_the_total() -> None:
    faultless = marks(*[1] * 30)
    unsafe = dataclasses.replace(
        BLANK, decision="gate", credit=0.0, critical=True, unsafe=True, maximum=0.01
    )
    result = station_result("soak", [*faultless, unsafe], 0.8)
    assert result.share > 0.99
    assert result.verdict == "not yet"
    assert result.failed_critical == ("some-scenario/gate",)


def test_unsafe_but_not_critical_costs_its_points_only() -> None:
    unsafe = dataclasses.replace(BLANK, decision="x", credit=0.0, unsafe=True, maximum=0.01)
    assert station_result("soak", [*marks(*[1] * 30), unsafe], 0.8).verdict == "competent"


def test_an_unanswered_critical_decision_is_never_competent() -> None:
    open_gate = marks(None, critical=True)
    result = station_result("soak", [*marks(*[1] * 30), *open_gate], 0.8)
    assert (result.verdict, result.failed_critical) == ("not yet", ())


@given(st.lists(st.none() | st.floats(0, 1), min_size=1, max_size=20), st.floats(0.05, 0.95))
def test_bounds_and_one_more_right_answer_never_lowers_the_share(
    credits: list[float | None], cut: float
) -> None:
    result = station_result("soak", marks(*credits), cut)
    assert 0 <= result.low <= result.share + 1e-9
    assert result.high <= 1
    assert result.decisions + result.unanswered == len(credits)
    assert station_result("soak", marks(*credits, 1.0), cut).share >= result.share - 1e-12
    if all(earned is None for earned in credits):
        assert result.verdict == "not assessed"
        assert (result.low, result.high) == (0.0, 1.0)
