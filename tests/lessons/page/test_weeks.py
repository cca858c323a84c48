"""Progress by week: pooled over the week's practices, with interval and n."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from lessons.page.weeks import WEEKS_SHOWN, weeks_of
from scoring.marking.interval import wilson
from tests.lessons.page.test_due import SOAK, played

MONDAY = datetime(2026, 3, 2, 8, 0).astimezone()


def test_the_practices_of_a_week_are_pooled_and_weeks_begin_on_monday() -> None:
    sunday = MONDAY + timedelta(days=6)
    weeks = weeks_of([played(SOAK, MONDAY, ("dose",)), played(SOAK, sunday)], "soak")
    (week,) = weeks
    n = 2 * len(played(SOAK, MONDAY).marks.decisions)
    assert week.monday == date(2026, 3, 2)
    assert week.practices == 2
    assert week.result.decisions == n
    assert week.result.share == pytest.approx((n - 1) / n)
    assert (week.result.low, week.result.high) == pytest.approx(wilson((n - 1) / n, n))


@pytest.mark.parametrize("hours", [-11, 0, 13])
def test_a_week_is_the_one_on_the_calendar_where_the_practice_was(hours: int) -> None:
    there = timezone(timedelta(hours=hours))
    late = datetime(2026, 3, 1, 23, 30, tzinfo=there)
    early = datetime(2026, 3, 2, 0, 30, tzinfo=there)
    mondays = [week.monday for week in weeks_of([played(SOAK, late), played(SOAK, early)], "soak")]
    assert mondays == [date(2026, 2, 23), date(2026, 3, 2)]


def test_another_station_does_not_count_and_only_the_latest_weeks_are_shown() -> None:
    many = [played(SOAK, MONDAY + timedelta(weeks=number)) for number in range(12)]
    assert weeks_of(many, "rinse") == []
    shown = weeks_of(many, "soak")
    assert len(shown) == WEEKS_SHOWN
    assert shown[-1].monday == date(2026, 3, 2) + timedelta(weeks=11)
