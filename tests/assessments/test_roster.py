"""Reading rosters: encodings, bad lines, names that a spreadsheet or a page would run."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assessments.roster import RosterEntry, read_roster
from scoring.faults import FaultError
from scoring.spreadsheet import FORMULA_STARTS


def written(folder: Path, content: bytes) -> Path:
    path = folder / "roster.csv"
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_codes_and_names_are_read(tmp_path: Path, encoding: str, delimiter: str) -> None:
    text = f"code{delimiter}name\r\nOP-001{delimiter}Zoë Müller\r\n\r\nOP-002{delimiter}\r\n"
    assert read_roster(written(tmp_path, text.encode(encoding))) == (
        RosterEntry("OP-001", "Zoë Müller"),
        RosterEntry("OP-002", ""),
    )


def test_the_first_line_of_a_spreadsheet_is_passed_over_and_counted(tmp_path: Path) -> None:
    path = written(tmp_path, b"sep=;\r\ncode;name\r\nop-001;Ada\r\n")
    assert read_roster(path) == (RosterEntry("OP-001", "Ada"),)
    path.write_bytes(b"sep=;\r\ncode;name\r\nnobody;Ada\r\n")
    with pytest.raises(FaultError) as caught:
        read_roster(path)
    assert caught.value.faults[0].item == "line 3"


def test_a_roster_without_names_is_enough(tmp_path: Path) -> None:
    assert read_roster(written(tmp_path, b"code\nOP-001\n")) == (RosterEntry("OP-001"),)


def test_every_bad_line_is_named_with_its_number(tmp_path: Path) -> None:
    content = (
        b"code,name\nOP-001,Ada\nnobody,Ben\nOP-001,Cem\nOP-003,<b>Dee</b>\n"
        b'OP-004,"=HYPERLINK(""http://x"")"\nOP-005,+1\nOP-006,-1\nOP-007,@x\nOP-008,Eve\n'
    )
    with pytest.raises(FaultError) as caught:
        read_roster(written(tmp_path, content))
    faults = caught.value.faults
    assert [fault.item for fault in faults] == [f"line {number}" for number in range(3, 10)]
    assert "it stands in line 2" in faults[1].wanted
    assert "HTML" in faults[2].wanted
    assert all("spreadsheet" in fault.wanted for fault in faults[3:])


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"PK\x03\x04\0\0", "workbook"),
        (b"code,name\nOP-001,\x81\x8d\xff\n", "neither UTF-8 nor Windows-1252"),
        (b"name\nAda\n", "name"),
        (b"", "nothing"),
        (b"code\n", "nobody"),
        (b'code,name\nOP-001,"Ada\n', "unexpected end of data"),
    ],
)
def test_a_file_that_is_no_roster_is_refused(tmp_path: Path, content: bytes, part: str) -> None:
    with pytest.raises(FaultError) as caught:
        read_roster(written(tmp_path, content))
    assert part in caught.value.faults[0].found
    assert caught.value.faults[0].remedy


def test_a_missing_file_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(FaultError, match="remedy"):
        read_roster(tmp_path / "none.csv")


@given(name=st.text(max_size=100))
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_name_gets_through_that_could_run(tmp_path: Path, name: str) -> None:
    quoted = name.replace('"', '""').encode("utf-8", "replace")
    try:
        entries = read_roster(written(tmp_path, b'code,name\nOP-001,"' + quoted + b'"\n'))
    except FaultError:
        return
    assert not entries[0].name.startswith(FORMULA_STARTS)
    assert "<" not in entries[0].name
    assert entries[0].name.isprintable()
