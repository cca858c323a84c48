"""What a hint costs, and that it costs nothing but credit."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from scoring.attempt import Event
from scoring.marking.hints import HINT_COST, hint_detail, hinted, with_hints
from scoring.marking.marks import DecisionMark

DIGEST = "0" * 64


def event(what: str, detail: str) -> Event:
    return Event.model_validate(
        {"seq": 1, "at": datetime(2026, 3, 2, tzinfo=UTC), "what": what, "detail": detail}
        | {"previous": DIGEST}
    )


def mark(decision: str, credit: float) -> DecisionMark:
    return DecisionMark("a-scenario", decision, "soak", True, credit, 2.0, "right", ("M20",), True)


def test_only_hints_count_and_each_once() -> None:
    detail = hint_detail("a-scenario", "dose")
    events = [event("hint", detail), event("hint", detail), event("resumed", detail)]
    assert hinted(events) == {"a-scenario/dose"}
    assert hinted([event("resumed", detail)]) == frozenset()


@given(st.floats(0, 1))
def test_a_hint_takes_its_share_of_that_decision_alone(credit: float) -> None:
    first, second = with_hints(
        [mark("dose", credit), mark("time", credit)], frozenset({"a-scenario/dose"})
    )
    assert first.credit == credit * (1 - HINT_COST)
    assert first.hinted
    assert (first.mistakes, first.unsafe, first.reason) == (("M20",), True, "right")
    assert second == mark("time", credit)
