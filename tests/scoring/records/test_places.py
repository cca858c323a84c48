"""Where logs lie, the header they begin with, and logs written in one go."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from pydantic import ValidationError

from scoring import KIT_VERSION
from scoring.attempt import Header
from scoring.model import digest
from scoring.records.header import make_header, seated_instances, seed_of
from scoring.records.log import AnswerLog, RecordsError, read_log
from scoring.records.places import exam_log, find_logs, lesson_log
from scoring.records.whole import Given, write_whole_log
from scoring.settings import Settings
from tests.scoring.small import START, sat_log, small_form, small_library, small_site


def new_header(operator: str = "OP-001") -> Header:
    return make_header(
        small_library(), small_form(), small_site(),
        sitting="small-sitting-1", operator=operator, language="en", started=START,
    )  # fmt: skip


def test_lessons_and_exams_lie_apart_and_are_found(tmp_path: Path) -> None:
    settings = Settings(tmp_path / "records", tmp_path / "site.yaml")
    assert find_logs(settings, "lesson") == find_logs(settings, "exam") == ()
    lesson = lesson_log(settings, "OP-001", "small-sitting-1")
    exam = exam_log(settings, "small-sitting-2")
    assert lesson == tmp_path / "records" / "lessons" / "OP-001" / "small-sitting-1.jsonl"
    assert exam == tmp_path / "records" / "exams" / "small-sitting-2.jsonl"
    for path in (lesson, exam):
        AnswerLog.start(path, new_header()).answer("small-soak", "agent", "cleaner", 1)
        # Locks and broken tails beside it are no logs.
        path.with_name(path.name + ".damaged-1").write_bytes(b"x")
    assert find_logs(settings, "lesson") == (lesson,)
    assert find_logs(settings, "exam") == (exam,)


def test_a_header_holds_what_the_sitting_rests_on() -> None:
    header = new_header()
    assert (header.kit, header.form, header.form_version) == (KIT_VERSION, "small-exam", 1)
    assert header.form_digest == small_library().form_digest(small_form())
    assert header.site_digest == digest(small_site())
    assert [part.id for part in header.scenarios] == ["small-soak", "small-look"]
    drawn = seated_instances(small_library(), small_site(), header)
    assert [drawn[part.id].seed for part in header.scenarios] == [
        part.seed for part in header.scenarios
    ]


def test_a_name_is_no_operator_code() -> None:
    with pytest.raises(ValidationError):
        new_header("Jane Doe")


def test_seeds_differ_by_sitting_and_scenario_unless_the_form_fixes_them() -> None:
    seeds = {seed_of(f"small-sitting-{n}", name, None) for n in range(50) for name in ("a", "b")}
    assert len(seeds) == 100
    assert all(0 <= seed < 2**31 for seed in seeds)
    assert seed_of("small-sitting-1", "a", 5) == 5


def test_a_log_in_one_go_is_the_same_as_line_by_line(tmp_path: Path) -> None:
    read = sat_log(tmp_path)
    times = iter([*(answer.at for answer in read.answers), START + timedelta(hours=1)])
    log = AnswerLog.start(tmp_path / "again.jsonl", read.header, clock=lambda: next(times))
    for answer in read.answers:
        log.answer(answer.scenario, answer.decision, answer.value, answer.seconds)
    assert log.close() == read.receipt
    assert log.path.read_bytes() == (tmp_path / "small-sitting-1.jsonl").read_bytes()


def test_a_log_in_one_go_never_overwrites(tmp_path: Path) -> None:
    sat_log(tmp_path)
    before = (tmp_path / "small-sitting-1.jsonl").read_bytes()
    with pytest.raises(RecordsError):
        write_whole_log(tmp_path / "small-sitting-1.jsonl", new_header(), [], None)
    assert (tmp_path / "small-sitting-1.jsonl").read_bytes() == before


def test_an_open_log_in_one_go_has_no_receipt(tmp_path: Path) -> None:
    answers = [Given(START, "small-soak", "agent", "cleaner", 3.0)]
    assert write_whole_log(tmp_path / "a.jsonl", new_header(), answers, None) == ""
    assert read_log(tmp_path / "a.jsonl").close is None
