"""The answer log: what is called saved is saved, and what was changed is refused."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.attempt import Header, SeatedScenario
from scoring.records import disk
from scoring.records.log import (
    AnswerLog,
    LogRefused,
    RecordsError,
    StaleLog,
    read_log,
    receipt_code,
)

ROOT = Path(__file__).parents[3]
SOME = "ab" * 32
WHEN = datetime(2026, 3, 2, 8, 0, tzinfo=timezone(timedelta(hours=1)))


def header(**changed: object) -> Header:
    fields: dict[str, object] = {
        "kit": "0.1.0",
        "sitting": "test-sitting-1",
        "operator": "OP-017",
        "purpose": "exam",
        "form": "some-form",
        "form_version": 1,
        "form_digest": SOME,
        "site": "some-site",
        "site_digest": SOME,
        "language": "en",
        "scenarios": (SeatedScenario(id="some-scenario", seed=3, digest=SOME),),
        "started": WHEN,
    }
    return Header.model_validate(fields | changed)


def filled_log(path: Path, closed: bool = True) -> AnswerLog:
    log = AnswerLog.start(path, header())
    log.answer("some-scenario", "agent", "cleaner", 3.25)
    log.answer("some-scenario", "wear", ("eyes", "gloves"), 4)
    log.event("hint", "dose")
    log.answer("some-scenario", "dose", {"amount": 50, "unit": "mL"}, 12.5)
    if closed:
        log.close()
    return log


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "exams" / "a.jsonl")
    read = read_log(log.path)
    assert read.header == header()
    assert read.answers == log.answers
    assert [answer.value for answer in read.answers] == [
        "cleaner",
        ("eyes", "gloves"),
        {"amount": 50.0, "unit": "mL"},
    ]
    assert [event.what for event in read.events] == ["hint"]
    assert read.damage is None
    assert read.close is not None
    assert read.receipt == log.receipt != ""


def test_every_answer_is_on_disk_before_the_call_returns(tmp_path: Path) -> None:
    log = AnswerLog.start(tmp_path / "a.jsonl", header())
    for number in range(3):
        log.answer("some-scenario", f"d{number}", "x", 1)
        assert len(read_log(log.path).answers) == number + 1


def test_times_carry_an_offset(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl")
    for line in log.path.read_text().splitlines()[1:]:
        assert datetime.fromisoformat(json.loads(line)["at"]).utcoffset() is not None


def test_a_clock_that_goes_backwards_breaks_nothing(tmp_path: Path) -> None:
    ticks = iter([WHEN, WHEN - timedelta(days=400), datetime(1999, 1, 1, tzinfo=UTC)])
    log = AnswerLog.start(tmp_path / "a.jsonl", header(), clock=lambda: next(ticks))
    log.answer("some-scenario", "one", "x", -86400.0)
    log.answer("some-scenario", "two", "x", float("nan"))
    log.close()
    assert [answer.seconds for answer in read_log(log.path).answers] == [0.0, 0.0]


def test_a_clock_without_offset_is_refused_and_nothing_written(tmp_path: Path) -> None:
    log = AnswerLog.start(tmp_path / "a.jsonl", header(), clock=lambda: datetime(2026, 1, 1))
    before = log.path.read_bytes()
    with pytest.raises(RecordsError, match="at"):
        log.answer("some-scenario", "one", "x", 1)
    assert log.path.read_bytes() == before


@pytest.mark.parametrize("value", [None, 3, ["a", 4], {"amount": 1, "other": 2}, "\ud800"])
def test_a_value_that_is_no_answer_is_refused_and_nothing_written(
    tmp_path: Path, value: object
) -> None:
    log = AnswerLog.start(tmp_path / "a.jsonl", header())
    before = log.path.read_bytes()
    with pytest.raises(RecordsError):
        log.answer("some-scenario", "one", value, 1)  # type: ignore[arg-type]
    assert log.path.read_bytes() == before
    log.answer("some-scenario", "one", "x", 1)
    assert len(read_log(log.path).answers) == 1


def test_hostile_text_stays_one_line(tmp_path: Path) -> None:
    log = AnswerLog.start(tmp_path / "a.jsonl", header())
    hostile = '=cmd|"/c calc"!A1\n{"line":"close"}\r\n\u2028<script>\x00\udcff'
    log.event("hint", hostile)
    log.answer("some-scenario", "one", "=1+1\n\x00", 1)
    read = read_log(log.path)
    assert read.answers[0].value == "=1+1\n\x00"
    assert read.lines == 3


def test_starting_twice_is_refused(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl", closed=False)
    before = log.path.read_bytes()
    with pytest.raises(RecordsError, match="Resume this sitting"):
        AnswerLog.start(log.path, header())
    assert log.path.read_bytes() == before


def test_resuming_keeps_every_answer_and_is_recorded(tmp_path: Path) -> None:
    first = filled_log(tmp_path / "a.jsonl", closed=False)
    again = AnswerLog.resume(first.path, "page loaded again")
    assert again.answers == first.answers
    assert read_log(first.path).events[-1].detail == "page loaded again"
    again.answer("some-scenario", "more", "x", 1)
    assert len(read_log(first.path).answers) == 4


def test_the_older_of_two_windows_is_stale(tmp_path: Path) -> None:
    first = filled_log(tmp_path / "a.jsonl", closed=False)
    second = AnswerLog.resume(first.path)
    before = first.path.read_bytes()
    with pytest.raises(StaleLog, match="open elsewhere"):
        first.answer("some-scenario", "more", "x", 1)
    assert first.path.read_bytes() == before
    second.answer("some-scenario", "more", "x", 1)
    assert len(read_log(first.path).answers) == 4


def test_a_log_that_vanished_is_said_so(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl", closed=False)
    log.path.unlink()
    with pytest.raises(RecordsError, match="records folder"):
        log.answer("some-scenario", "more", "x", 1)
    with pytest.raises(RecordsError, match="can be read"):
        read_log(log.path)


def test_nothing_is_added_after_handing_in(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl")
    before = log.path.read_bytes()
    again = AnswerLog.resume(log.path)
    assert (again.closed, again.receipt) == (True, log.receipt)
    for closed in (log, again):
        with pytest.raises(RecordsError, match="handed in"):
            closed.answer("some-scenario", "more", "x", 1)
    assert log.path.read_bytes() == before


def test_receipt_code_is_crockfords() -> None:
    # By hand: 0x00443214c7 is 00000 00001 00010 00011 00100 00101 00110 00111 in fives.
    assert receipt_code("00443214c7" + "0" * 54) == "0123-4567"
    assert receipt_code("f" * 64) == "ZZZZ-ZZZZ"


@given(st.binary(min_size=32, max_size=32))
def test_receipt_code_holds_forty_bits(raw: bytes) -> None:
    symbols = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    number = 0
    for symbol in receipt_code(raw.hex()).replace("-", ""):
        number = number * 32 + symbols.index(symbol)
    assert number == int.from_bytes(raw[:5], "big")


TEXT = st.text(st.characters(codec="utf-8"), max_size=20)
VALUES = (
    TEXT
    | st.lists(TEXT, max_size=4).map(tuple)
    | st.fixed_dictionaries(
        {"amount": st.floats(allow_nan=False, allow_infinity=False), "unit": TEXT}
    )
)


@settings(max_examples=40)
@given(st.lists(st.tuples(VALUES, st.floats(-1e9, 1e9), st.booleans()), max_size=5))
def test_whatever_is_answered_is_read_back_through_any_reloads(
    given_answers: list[tuple[Any, float, bool]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        log = AnswerLog.start(Path(folder) / "a.jsonl", header())
        for number, (value, seconds, reload) in enumerate(given_answers):
            log.answer("some-scenario", f"d{number}", value, seconds)
            if reload:
                log = AnswerLog.resume(log.path)
        code = log.close()
        read = read_log(log.path)
        assert [(answer.value, answer.seconds) for answer in read.answers] == [
            (value, max(0.0, seconds)) for value, seconds, _ in given_answers
        ]
        assert len(read.events) == sum(reload for _, _, reload in given_answers)
        assert read.receipt == code


# --- torn, changed, foreign ---


def test_a_log_cut_at_any_byte_is_resumed_or_refused_with_a_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Thousands of fsyncs would only test the disk.
    monkeypatch.setattr(os, "fsync", lambda handle: None)
    whole = filled_log(tmp_path / "whole.jsonl").path.read_bytes()
    ends = [place for place, byte in enumerate(whole) if byte == ord("\n")]
    first = ends[0]
    full = read_log(tmp_path / "whole.jsonl")
    for cut in range(len(whole)):
        path = tmp_path / f"cut-{cut}.jsonl"
        path.write_bytes(whole[:cut])
        if cut < first:
            with pytest.raises(LogRefused, match="start the sitting again"):
                AnswerLog.resume(path)
            assert path.read_bytes() == whole[:cut]
            continue
        # A line whose newline alone is missing is whole.
        lines = sum(end <= cut for end in ends)
        kept = full.answers[: sum(b'"answer"' in part for part in whole.split(b"\n")[1:lines])]
        torn = whole[:cut] if cut in ends else whole[:cut].rpartition(b"\n")[2]
        resumed = AnswerLog.resume(path)
        assert resumed.answers == kept
        aside = list(tmp_path.glob(f"cut-{cut}.jsonl.damaged-*"))
        if cut in ends or not torn:
            assert aside == []
        else:
            assert [file.read_bytes() for file in aside] == [torn]
        again = read_log(path)
        assert (again.answers, again.damage) == (kept, None)


def test_damage_is_reported_and_a_second_tear_gets_its_own_file(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl", closed=False)
    for number in (1, 2):
        with log.path.open("ab") as file:
            file.write(b'{"line":"answer","seq":')
        read = read_log(log.path)
        assert read.damage is not None
        assert "breaks off" in read.damage.found
        AnswerLog.resume(log.path)
        assert (tmp_path / f"a.jsonl.damaged-{number}").exists()
    assert len(read_log(log.path).answers) == 3
    assert ".damaged-2" in read_log(log.path).events[-1].detail


def test_zeros_left_by_a_power_cut_are_a_torn_tail(tmp_path: Path) -> None:
    log = filled_log(tmp_path / "a.jsonl", closed=False)
    with log.path.open("ab") as file:
        file.write(b"\x00" * 300)
    assert AnswerLog.resume(log.path).answers == log.answers


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
def test_a_changed_line_is_refused_and_named(tmp_path: Path, number: int) -> None:
    path = filled_log(tmp_path / "a.jsonl").path
    lines = path.read_text().splitlines(keepends=True)
    content = json.loads(lines[number - 1])
    content["kit" if number == 1 else "detail" if number == 4 else "decision"] = "changed"
    lines[number - 1] = json.dumps(content) + "\n"
    path.write_text("".join(lines))
    for use in (read_log, AnswerLog.resume):
        with pytest.raises(LogRefused) as refused:
            use(path)
        assert refused.value.faults[0].item == f"line {number}"
        assert "changed after it was written" in refused.value.faults[0].found
    assert path.read_text() == "".join(lines)


@pytest.mark.parametrize("field", ["seq", "previous", "answers"])
def test_a_changed_chain_is_refused(tmp_path: Path, field: str) -> None:
    path = filled_log(tmp_path / "a.jsonl").path
    lines = path.read_text().splitlines(keepends=True)
    place = len(lines) - 1 if field == "answers" else 2
    content = json.loads(lines[place])
    content[field] = "0" * 64 if field == "previous" else 7
    lines[place] = json.dumps(content) + "\n"
    path.write_text("".join(lines))
    with pytest.raises(LogRefused, match=f"line {place + 1}"):
        read_log(path)


@pytest.mark.parametrize("gone", [1, 2, 3, 4])
def test_a_removed_line_is_refused(tmp_path: Path, gone: int) -> None:
    path = filled_log(tmp_path / "a.jsonl").path
    lines = path.read_text().splitlines(keepends=True)
    del lines[gone]
    path.write_text("".join(lines))
    with pytest.raises(LogRefused, match="moved or removed") as refused:
        read_log(path)
    assert refused.value.faults[0].item == f"line {gone + 1}"


def test_moved_doubled_and_added_lines_are_refused(tmp_path: Path) -> None:
    path = filled_log(tmp_path / "a.jsonl").path
    lines = path.read_text().splitlines(keepends=True)
    for wrong in (
        [lines[0], lines[2], lines[1], *lines[3:]],
        [*lines[:2], lines[1], *lines[2:]],
        [*lines, lines[-1]],
        [*lines, lines[0]],
        [lines[0], *lines],
        lines[1:],
    ):
        path.write_text("".join(wrong))
        with pytest.raises(LogRefused, match="line"):
            read_log(path)


def test_garbage_inside_is_refused_with_its_line(tmp_path: Path) -> None:
    path = filled_log(tmp_path / "a.jsonl").path
    lines = path.read_bytes().splitlines(keepends=True)
    for garbage in (b"\n", b"not json\n", b"\xff\xfe\n", b"[]\n", b"[" * 5000 + b"\n"):
        path.write_bytes(b"".join([*lines[:2], garbage, *lines[3:]]))
        with pytest.raises(LogRefused, match="line 3"):
            read_log(path)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(noise: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "noise.jsonl"
        path.write_bytes(noise)
        with pytest.raises(LogRefused):
            read_log(path)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_change_of_one_byte_is_refused_or_harmless(data: st.DataObject) -> None:
    """A flipped byte never passes as another answer, save in a line nothing vouches for."""
    with tempfile.TemporaryDirectory() as folder:
        path = filled_log(Path(folder) / "a.jsonl").path
        whole = path.read_bytes()
        before = read_log(path).answers
        place = data.draw(st.integers(0, len(whole) - 1))
        byte = data.draw(st.integers(0, 255))
        path.write_bytes(whole[:place] + bytes([byte]) + whole[place + 1 :])
        try:
            after = read_log(path).answers
        except LogRefused:
            return
        assert after == before


def test_a_newer_schema_is_refused_with_its_remedy(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    newer = {**header().model_dump(mode="json"), "schema_version": 2, "something": "new"}
    path.write_text(json.dumps(newer) + "\n")
    with pytest.raises(LogRefused, match="Update this kit"):
        read_log(path)


def test_a_newer_kit_with_the_same_schema_is_read(tmp_path: Path) -> None:
    log = AnswerLog.start(tmp_path / "a.jsonl", header(kit="12.3.4"))
    assert read_log(log.path).header.kit == "12.3.4"


def test_the_first_released_schema_is_still_read() -> None:
    """A log written by version 0.1.0; it must be readable for ever."""
    read = read_log(ROOT / "tests" / "data" / "answer_log_schema_1.jsonl")
    assert len(read.answers) == 3
    assert read.receipt == "MTT9-6J8Q"


def test_a_huge_file_is_no_log(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with path.open("wb") as file:
        file.truncate(20_000_001)
    with pytest.raises(LogRefused, match="20000001 bytes"):
        read_log(path)


def test_a_folder_in_place_of_a_log(tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match="can be read"):
        read_log(tmp_path)


# --- the disk refuses ---

FULL_DISK = """
import resource, sys
from pathlib import Path
from tests.scoring.records.test_log import filled_log, header
from scoring.records.log import AnswerLog, RecordsError, read_log

path = Path(sys.argv[1])
log = filled_log(path, closed=False)
before = path.read_bytes()
limit = len(before) + int(sys.argv[2])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
try:
    log.answer("some-scenario", "more", "x" * 50, 1)
except RecordsError as error:
    assert path.read_bytes() == before
    assert len(read_log(path).answers) == 3 and read_log(path).damage is None
    print("REFUSED", error.faults[0].remedy)
try:
    AnswerLog.start(path.with_name("new.jsonl"), header(form="f" * 60))
except RecordsError:
    print("NEW", path.with_name("new.jsonl").exists())
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
log.answer("some-scenario", "more", "x" * 50, 1)
print("CODE", log.close())
"""


@pytest.mark.parametrize("room", [0, 1, 100])
def test_a_full_disk_leaves_the_log_whole_and_usable(tmp_path: Path, room: int) -> None:
    """The kernel itself refuses bytes past a limit, in the middle of a line."""
    ran = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(tmp_path / "a.jsonl"), str(room)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert "REFUSED Free some space" in ran.stdout
    assert "CODE" in ran.stdout


def test_a_device_that_is_full(tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match="No space left on device"):
        disk.append(Path("/dev/full"), b"x", 0)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "in-the-way").write_text("a file")
    with pytest.raises(RecordsError, match="can be written"):
        AnswerLog.start(tmp_path / "in-the-way" / "a.jsonl", header())


def test_kill_minus_nine_loses_nothing_called_saved(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    code = (
        "import sys\nfrom pathlib import Path\n"
        "from tests.scoring.records.test_log import AnswerLog, header\n"
        "log = AnswerLog.start(Path(sys.argv[1]), header())\n"
        "for number in range(100000):\n"
        "    log.answer('some-scenario', f'd{number}', 'x', 1)\n"
        "    print(number, flush=True)\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as child:
        assert child.stdout is not None
        for _ in range(25):
            said = int(child.stdout.readline())
        child.kill()
        rest = child.stdout.read().split("\n")
    said = max([said, *(int(line) for line in rest[:-1])])
    assert len(AnswerLog.resume(path).answers) >= said + 1
