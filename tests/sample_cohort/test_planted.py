"""Each planted truth is in the data: plain shares, before any statistic looks at them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import mean, pstdev

import pytest

from sample_cohort import FORMS, SCENARIOS
from sample_cohort.generate import CohortSummary
from sample_cohort.plan import NEW, OPERATORS, PEOPLE, SHIFTS, SITES
from sample_cohort.truth import BROKEN, HABITS, RATERS, SHIFT_HABIT, STATIONS, WORSE, Habit
from scoring.check import check_files
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.model import Station
from scoring.observation import Observation
from scoring.records.reading import ReadLog
from scoring.site import SiteValues


@dataclass(frozen=True)
class Row:
    operator: str
    started: datetime
    station: Station
    topic: str
    right: bool

    @property
    def days_in_post(self) -> int:
        return (self.started.date() - NEW[self.operator]).days


@pytest.fixture(scope="module")
def rows(marks: Sequence[SittingMarks], logs: Sequence[ReadLog], library: Library) -> list[Row]:
    topics = {
        (name, decision.id): decision.topic
        for name in {mark.scenario for one in marks for mark in one.decisions}
        for decision in library.scenario(name).decisions
    }
    return [
        Row(
            one.operator, log.header.started, mark.station,
            topics[mark.scenario, mark.decision], mark.credit == 1.0,
        )
        for one, log in zip(marks, logs, strict=True)
        for mark in one.decisions
        if mark.assessed and mark.scenario not in BROKEN
    ]  # fmt: skip


def share(rows: Iterable[Row]) -> float:
    return mean(row.right for row in rows)


def test_one_shift_of_one_site_leaves_the_treated_rinse_out(
    rows: Sequence[Row], observations: Sequence[Observation]
) -> None:
    shares = {
        (site, shift): share(
            row
            for row in rows
            if (
                row.topic == SHIFT_HABIT.topic
                and (PEOPLE[row.operator].site, PEOPLE[row.operator].shift) == (site, shift)
            )
        )
        for site in SITES
        for shift in SHIFTS
    }
    low = shares.pop((SHIFT_HABIT.site, SHIFT_HABIT.shift))
    assert low + 0.4 < min(shares.values())
    seen: dict[bool, list[bool]] = {True: [], False: []}
    for one in observations:
        rating = one.ratings.get("treated-last", "not_seen")
        if rating != "not_seen":
            person = PEOPLE[one.operator]
            here = (person.site, person.shift) == (SHIFT_HABIT.site, SHIFT_HABIT.shift)
            seen[here].append(rating == "done")
    assert mean(seen[True]) + 0.3 < mean(seen[False])


def test_new_starters_come_up(rows: Sequence[Row]) -> None:
    first, later = (
        share(row for row in rows if row.operator in NEW and low <= row.days_in_post < high)
        for low, high in ((0, 61), (183, 400))
    )
    assert first + 0.12 < later


def test_the_retrained_did_worse_before_and_less_so_after(
    rows: Sequence[Row], cohort: CohortSummary
) -> None:
    def brushing(retrained: bool, months: range) -> float:
        return share(
            row
            for row in rows
            if (
                row.station == "brush"
                and (row.operator in cohort.retrained) == retrained
                and row.started.month in months
            )
        )

    before, after = brushing(True, range(4, 7)), brushing(True, range(7, 13))
    assert before < brushing(False, range(4, 7)) - 0.3
    assert before + 0.05 < after < brushing(False, range(7, 13))


def test_the_two_worse_stand_last_of_those_long_in_post(rows: Sequence[Row]) -> None:
    means = {
        code: share(row for row in rows if row.operator == code)
        for code in OPERATORS
        if code not in NEW
    }
    assert set(sorted(means, key=lambda code: means[code])[:2]) == set(WORSE)


def test_operators_differ_most_where_it_was_planted(rows: Sequence[Row]) -> None:
    def spread(station: Station) -> float:
        return pstdev(
            share(row for row in rows if row.operator == code and row.station == station)
            for code in OPERATORS
            if code not in NEW
        )

    spreads = {station: spread(station) for station in STATIONS}
    most = max(STATIONS, key=lambda station: STATIONS[station].spread)
    assert spreads.pop(most) > 1.5 * max(spreads.values())


def test_inspection_is_hardest_for_everybody(rows: Sequence[Row]) -> None:
    shares = {station: share(row for row in rows if row.station == station) for station in STATIONS}
    hardest = min(STATIONS, key=lambda station: STATIONS[station].level)
    low = shares.pop(hardest)
    assert 0.4 < low < min(shares.values()) - 0.1


@pytest.mark.parametrize("one", HABITS, ids=lambda habit: habit.operator)
def test_habits_cost_points_at_their_topic(rows: Sequence[Row], one: Habit) -> None:
    own = share(row for row in rows if row.operator == one.operator and row.topic == one.topic)
    others = share(row for row in rows if row.operator != one.operator and row.topic == one.topic)
    assert own < others - 0.15


def test_one_rater_writes_done_more_readily(observations: Sequence[Observation]) -> None:
    done: dict[str, list[bool]] = {rater: [] for rater in RATERS}
    for one in observations:
        done[one.rater] += [it == "done" for it in one.ratings.values() if it != "not_seen"]
    shares = {rater: mean(written) for rater, written in done.items()}
    lenient = max(RATERS, key=lambda rater: RATERS[rater])
    top = shares.pop(lenient)
    assert top > max(shares.values()) + 0.08
    assert max(shares.values()) - min(shares.values()) < 0.06


def test_the_broken_key_calls_the_right_answer_wrong(
    logs: Sequence[ReadLog], library: Library, sites: Mapping[str, SiteValues]
) -> None:
    ((broken, sound),) = BROKEN.items()
    keys = {
        name: {option.id for option in decision.options if option.credit == 1.0}
        for name in (broken, sound)
        for decision in library.scenario(name).decisions
        if decision.id == "lever-spring" and decision.kind == "choose_one"
    }
    assert not keys[broken] & keys[sound]
    given = [
        answer.value
        for log in logs
        for answer in log.answers
        if (answer.scenario, answer.decision) == (broken, "lever-spring")
    ]
    assert len(given) > 40
    sense = sum(value in keys[sound] for value in given)
    assert sense > 1.4 * sum(value in keys[broken] for value in given)
    # Its form is sound as `sinkside check` sees it: only the answers of people show what is wrong.
    assert check_files([SCENARIOS, FORMS], library, list(sites.values())) == []
