"""What somebody has practised before: from the logs alone, the latest first where it counts."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from lessons.page.history import History, read_history
from lessons.page.practice import Practice, lesson_form
from scoring.marking.right import right_answer
from scoring.records.header import make_header, seated_instances
from scoring.records.log import AnswerLog
from scoring.records.places import lesson_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.lessons.page.playing import LIBRARY
from tests.lessons.players import SITES

OPERATOR = "OP-017"
SOAK, OTHER = "soak-clamp-dried", "soak-clamp-coated"
MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
FIRST, SECOND = "f" * 32, "0" * 32
"""Sittings in the other order than the time: the names of logs say nothing about when."""


def site(number: int = 0) -> SiteValues:
    return read_yaml(SITES[number], SiteValues)


def practise(
    records: Path, sitting: str, at: datetime, name: str = SOAK, answers: int | None = None
) -> Path:
    """Answer rightly, all decisions or only the first `answers`; return the log."""
    scenario = LIBRARY.scenario(name)
    settings = Settings(records, SITES[0])
    header = make_header(
        LIBRARY, lesson_form(scenario), site(), sitting=sitting, operator=OPERATOR,
        language="en", started=at,
    )  # fmt: skip
    log = AnswerLog.start(lesson_log(settings, OPERATOR, sitting), header, clock=lambda: at)
    practice = Practice(log, seated_instances(LIBRARY, site(), header)[name])
    for decision in scenario.decisions[:answers]:
        practice.answer(right_answer(decision, practice.instance), 1.0)
    return log.path


def history(records: Path, number: int = 0) -> History:
    return read_history(Settings(records, SITES[number]), OPERATOR, LIBRARY, site(number))


def test_who_has_not_practised_has_no_history(tmp_path: Path) -> None:
    found = history(tmp_path)
    assert (found.played, found.done, found.begun, found.unreadable) == ([], {}, {}, 0)


def test_what_was_played_stands_in_the_order_of_time_and_done_tells_the_latest(
    tmp_path: Path,
) -> None:
    later = MONDAY + timedelta(days=1)
    practise(tmp_path, FIRST, MONDAY)
    practise(tmp_path, SECOND, later)
    practise(tmp_path, "5" * 32, MONDAY - timedelta(days=1), OTHER)
    found = history(tmp_path)
    assert [one.at for one in found.played] == [MONDAY - timedelta(days=1), MONDAY, later]
    assert found.done == {SOAK: later, OTHER: MONDAY - timedelta(days=1)}
    assert all(mark.credit == 1 for one in found.played for mark in one.marks.decisions)


def test_of_what_was_begun_the_latest_with_an_answer_is_gone_on_with(tmp_path: Path) -> None:
    practise(tmp_path, SECOND, MONDAY, answers=1)
    latest = practise(tmp_path, "5" * 32, MONDAY + timedelta(hours=1), answers=2)
    practise(tmp_path, "6" * 32, MONDAY + timedelta(minutes=30), answers=1)
    practise(tmp_path, FIRST, MONDAY + timedelta(hours=2), answers=0)
    practise(tmp_path, "7" * 32, MONDAY, OTHER, answers=0)
    found = history(tmp_path)
    assert found.begun == {SOAK: latest}
    assert found.done == {}
    assert found.played == []


def test_a_log_that_was_changed_is_counted_and_left_as_it_is(tmp_path: Path) -> None:
    practise(tmp_path, FIRST, MONDAY)
    spoilt = practise(tmp_path, SECOND, MONDAY + timedelta(days=1))
    changed = spoilt.read_bytes().replace(b'"seconds":1.0', b'"seconds":2.0', 1)
    assert changed != spoilt.read_bytes()
    spoilt.write_bytes(changed)
    found = history(tmp_path)
    assert found.unreadable == 1
    assert [one.at for one in found.played] == [MONDAY]
    assert spoilt.read_bytes() == changed


def test_a_practice_under_other_values_is_done_but_has_no_marks_today(tmp_path: Path) -> None:
    practise(tmp_path, FIRST, MONDAY)
    found = history(tmp_path, number=1)
    assert found.played == []
    assert found.done == {SOAK: MONDAY}
