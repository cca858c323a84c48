"""What to practise next: by the person's own mistakes and by when they would be forgotten."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons import lesson_library
from lessons.page.due import MOST_TO_PRACTISE, suggestions, topics_due
from lessons.page.history import History, Played
from scoring.marking.marks import DecisionMark, SittingMarks

LIBRARY = lesson_library()
MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SOAK = "soak-clamp-dried"


def played(name: str, at: datetime, missed: tuple[str, ...] = (), credit: float = 0.0) -> Played:
    """A practice in which the decisions named earned `credit` and all others everything."""
    scenario = LIBRARY.scenario(name)
    decisions = tuple(
        DecisionMark(
            scenario=name,
            decision=decision.id,
            station=scenario.station,
            assessed=True,
            credit=credit if decision.id in missed else 1.0,
            maximum=1.0,
            reason="",
        )
        for decision in scenario.decisions
    )
    marks = SittingMarks("x" * 8, "OP-001", name, True, decisions, ())
    return Played(scenario, at, marks)


def history(*practices: Played) -> History:
    return History(list(practices), {one.scenario.id: one.at for one in practices})


def test_what_was_right_is_not_due() -> None:
    assert topics_due([played(SOAK, MORNING)], MORNING) == {}


def test_the_forgetting_is_the_schedulers() -> None:
    """FSRS-6, default weights (from memory, open-spaced-repetition): after one "again" the
    stability is w0 = 0.212 days, and R(t) = (1 + F t / S)^-d with d = w20 = 0.1542 and F such
    that R(S) = 0.9."""
    due = topics_due([played(SOAK, MORNING, ("dose",))], MORNING)
    decay, stability = 0.1542, 0.212
    factor = 0.9 ** (-1 / decay) - 1
    kept = (1 + factor * 1.0 / stability) ** -decay
    assert due["dose"].forgotten == pytest.approx(1 - kept, rel=1e-9)
    assert due["dose"].missed == MORNING


@given(st.integers(0, 60), st.integers(1, 60))
def test_what_lies_longer_back_is_more_forgotten(days: int, later: int) -> None:
    once = [played(SOAK, MORNING, ("dose",))]
    soon = topics_due(once, MORNING + timedelta(days=days))["dose"].forgotten
    late = topics_due(once, MORNING + timedelta(days=days + later))["dose"].forgotten
    assert 0 < soon < late < 1


def test_what_was_partly_right_and_what_was_made_good_since_is_less_forgotten() -> None:
    now = MORNING + timedelta(days=3)
    wrong = topics_due([played(SOAK, MORNING, ("dose",))], now)["dose"].forgotten
    partly = topics_due([played(SOAK, MORNING, ("dose",), 0.75)], now)["dose"].forgotten
    mended = topics_due(
        [played(SOAK, MORNING, ("dose",)), played(SOAK, MORNING + timedelta(days=2))], now
    )["dose"].forgotten
    assert partly < wrong
    assert mended < wrong


def test_the_suggestion_trains_what_was_missed_and_is_not_the_one_just_played() -> None:
    before = history(played(SOAK, MORNING, ("dose",)))
    first, *_ = suggestions(before, LIBRARY, MORNING, station="soak", but=SOAK)
    assert first.topic == "dose"
    assert first.missed == MORNING
    assert first.scenario.id != SOAK
    assert "dose" in {decision.topic for decision in first.scenario.decisions}


def test_two_different_scenarios_at_most_whatever_was_missed() -> None:
    every = tuple(decision.id for decision in LIBRARY.scenario(SOAK).decisions)
    found = suggestions(history(played(SOAK, MORNING, every)), LIBRARY, MORNING, station="soak")
    assert len(found) == MOST_TO_PRACTISE
    assert len({one.scenario.id for one in found}) == MOST_TO_PRACTISE


def test_who_has_missed_nothing_is_shown_what_is_new_at_this_station() -> None:
    before = history(played(SOAK, MORNING))
    found = suggestions(before, LIBRARY, MORNING, station="soak", but=SOAK)
    assert found
    for one in found:
        assert one.topic is None
        assert one.scenario.station == "soak"
        assert one.scenario.id not in before.done


def changed(one: Played, decision: str, **fields: Any) -> Played:
    """The same practice with other marks for one decision."""
    marks = tuple(
        replace(mark, **fields) if mark.decision == decision else mark
        for mark in one.marks.decisions
    )
    return replace(one, marks=replace(one.marks, decisions=marks))


def test_what_was_unsafe_is_as_good_as_not_known() -> None:
    partly = played(SOAK, MORNING, ("dose",), 0.75)
    unsafe = changed(partly, "dose", unsafe=True)
    wrong = played(SOAK, MORNING, ("dose",))
    assert topics_due([unsafe], MORNING) == topics_due([wrong], MORNING)
    assert topics_due([unsafe], MORNING) != topics_due([partly], MORNING)


def test_what_was_not_assessed_tells_nothing() -> None:
    none = changed(played(SOAK, MORNING, ("dose",)), "dose", assessed=False)
    assert topics_due([none], MORNING) == {}


def test_of_two_questions_on_a_topic_the_worse_answer_counts() -> None:
    right, wrong = played(SOAK, MORNING), played(SOAK, MORNING, ("dose",))
    asked_twice = (*right.marks.decisions, *wrong.marks.decisions)
    both = replace(right, marks=replace(right.marks, decisions=asked_twice))
    assert topics_due([both], MORNING) == topics_due([wrong], MORNING)


def test_worth_the_same_goes_by_station_first_and_then_by_what_is_new() -> None:
    before = history(played(SOAK, MORNING, ("dose",)))
    every = [LIBRARY.scenario(name) for name in LIBRARY.scenario_ids()]
    trains = [one for one in every if "dose" in {asked.topic for asked in one.decisions}]
    elsewhere = sorted({one.station for one in trains} - {"soak"})
    here = [one for one in trains if one.station == "soak" and one.id != SOAK]
    assert elsewhere
    assert len(here) > 1
    # Everything here was done before, and nothing elsewhere: here goes first all the same.
    before.done.update({one.id: MORNING for one in here})
    first, *_ = suggestions(before, LIBRARY, MORNING, station="soak", but=SOAK)
    assert first.scenario.station == "soak"
    del before.done[here[-1].id]
    first, *_ = suggestions(before, LIBRARY, MORNING, station="soak", but=SOAK)
    assert first.scenario.id == here[-1].id


def test_the_second_suggestion_is_for_another_topic_where_there_is_one() -> None:
    every = [LIBRARY.scenario(name) for name in LIBRARY.scenario_ids()]
    topics = [{decision.topic for decision in one.decisions} for one in every]
    beside = set[str]().union(*(one for one in topics if "dose" in one))
    # Missed less badly, and in no scenario that asks about the dose.
    lesser = next(
        (one.id, decision)
        for one in every
        for decision in one.decisions
        if decision.topic not in beside
    )
    before = history(
        played(SOAK, MORNING, ("dose",)), played(lesser[0], MORNING, (lesser[1].id,), 0.75)
    )
    assert sum("dose" in one for one in topics) > 2
    first, second = suggestions(before, LIBRARY, MORNING, station="soak", but=SOAK)
    assert (first.topic, second.topic) == ("dose", lesser[1].topic)


def test_of_other_stations_only_what_trains_what_this_one_cannot_is_asked_or_read() -> None:
    every = [LIBRARY.scenario(name) for name in LIBRARY.scenario_ids()]
    here = {asked.topic for one in every if one.station == "soak" for asked in one.decisions}
    other, missed = next(
        (one.id, asked)
        for one in every
        if one.station != "soak"
        for asked in one.decisions
        if asked.topic not in here
    )
    fresh = lesson_library()
    before = history(played(SOAK, MORNING, ("dose",)), played(other, MORNING, (missed.id,)))
    found = suggestions(before, fresh, MORNING, station="soak", but=SOAK)
    assert missed.topic in {one.topic for one in found}
    for one in found:
        asks = {asked.topic for asked in one.scenario.decisions}
        assert one.scenario.station == "soak" or missed.topic in asks
    read = fresh._scenarios.keys() - set(fresh.station_ids("soak"))
    assert read == set(fresh.ids_naming([missed.topic])) - set(fresh.station_ids("soak"))
    assert len(read) < len(every) / 2
