"""A workbook runs nothing, keeps numbers and dates, and is the same each time it is made."""

from __future__ import annotations

import io
import math
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring import workbook
from scoring.spreadsheet import Row
from scoring.workbook import share_columns, xlsx_bytes

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@dataclass(frozen=True)
class Table:
    name: str
    head: Sequence[str]
    rows: Sequence[Row]


def part(content: bytes, name: str) -> ElementTree.Element:
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        return ElementTree.fromstring(book.read(name))  # noqa: S314 (made here)


def sheet_names(content: bytes) -> list[str]:
    return [one.attrib["name"] for one in part(content, "xl/workbook.xml").iter(f"{MAIN}sheet")]


def cells(content: bytes, number: int = 1) -> dict[str, str | float]:
    """What stands in each cell of a sheet: texts as text, numbers as numbers."""
    shared = [
        "".join(text.text or "" for text in entry.iter(f"{MAIN}t"))
        for entry in part(content, "xl/sharedStrings.xml")
    ]
    found: dict[str, str | float] = {}
    for cell in part(content, f"xl/worksheets/sheet{number}.xml").iter(f"{MAIN}c"):
        value = cell.find(f"{MAIN}v")
        if value is not None and value.text is not None:
            text = cell.attrib.get("t") == "s"
            found[cell.attrib["r"]] = shared[int(value.text)] if text else float(value.text)
    return found


def formats(content: bytes, number: int = 1) -> dict[str, str]:
    """The number format of each cell that has one of its own."""
    styles = part(content, "xl/styles.xml")
    own = {one.attrib["numFmtId"]: one.attrib["formatCode"] for one in styles.iter(f"{MAIN}numFmt")}
    used = [one.attrib["numFmtId"] for one in next(styles.iter(f"{MAIN}cellXfs"))]
    return {
        cell.attrib["r"]: own.get(used[int(cell.attrib.get("s", 0))], "")
        for cell in part(content, f"xl/worksheets/sheet{number}.xml").iter(f"{MAIN}c")
    }


def test_numbers_texts_and_dates_keep_their_kind() -> None:
    head = ("code", "n", "share", "low", "day", "residual", "at", "seen", "nothing", "none")
    row = ("OP-1", np.int64(12), 0.25, np.float64(0.125), date(2025, 3, 31), 6.4,
           datetime(2025, 3, 31, 8, tzinfo=UTC), True, math.nan, None)  # fmt: skip
    made = xlsx_bytes([Table("steps", head, [row])])
    found, look = cells(made), formats(made)
    assert [found[f"{letter}1"] for letter in "ABCDEFGHIJ"] == list(head)
    assert found["A2"] == "OP-1"
    assert (found["B2"], found["C2"], found["D2"], found["F2"]) == (12, 0.25, 0.125, 6.4)
    # Days are counted from 1899-12-30 in the file format.
    assert found["E2"] == (date(2025, 3, 31) - date(1899, 12, 30)).days
    assert found["G2"] == pytest.approx(float(found["E2"]) + 8 / 24)
    assert found["H2"] == "yes"
    assert "I2" not in found
    assert "J2" not in found
    assert look["C2"] == look["D2"] == "0.0%"
    assert look["E2"] == "yyyy-mm-dd"
    assert look["F2"] != "0.0%"


@pytest.mark.parametrize("attack", ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0"])
@pytest.mark.parametrize("place", ["name", "head", "row"])
def test_nothing_in_it_is_a_formula_or_a_link(attack: str, place: str) -> None:
    table = Table(
        attack if place == "name" else "a",
        (attack if place == "head" else "a",),
        [(attack if place == "row" else "b",), ("https://example.org",)],
    )
    made = xlsx_bytes([table])
    with zipfile.ZipFile(io.BytesIO(made)) as book:
        sheet = book.read("xl/worksheets/sheet1.xml")
        assert not [name for name in book.namelist() if "_rels/sheet" in name]
    assert b"<f>" not in sheet
    assert b"hyperlink" not in sheet
    assert cells(made)["A2"] == (attack if place == "row" else "b")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=40), st.floats(), st.integers(0, 2**40)), max_size=4))
def test_any_text_and_number_goes_in_and_text_comes_out(rows: list[tuple[object, ...]]) -> None:
    made = xlsx_bytes([Table("any", ("text", "number", "count"), rows)])
    found = cells(made)
    for line, row in enumerate(rows, start=2):
        assert found[f"C{line}"] == row[2]
        if str(row[0]).isprintable() and row[0]:
            assert found[f"A{line}"] == row[0]


def test_the_same_tables_give_the_same_bytes() -> None:
    tables = [Table("a", ("x",), [(1,), ("b",)]), Table("b", ("y",), [])]
    assert xlsx_bytes(tables) == xlsx_bytes(tables)


def test_the_head_is_bold_and_stays_in_sight() -> None:
    made = xlsx_bytes([Table("a", ("x",), [(1,)])])
    pane = next(part(made, "xl/worksheets/sheet1.xml").iter(f"{MAIN}pane"))
    assert pane.attrib["state"] == "frozen"
    assert pane.attrib["ySplit"] == "1"
    styles = part(made, "xl/styles.xml")
    head = next(part(made, "xl/worksheets/sheet1.xml").iter(f"{MAIN}c")).attrib["s"]
    font = next(styles.iter(f"{MAIN}cellXfs"))[int(head)].attrib["fontId"]
    assert next(styles.iter(f"{MAIN}fonts"))[int(font)].find(f"{MAIN}b") is not None


def test_names_of_sheets_are_allowed_and_never_twice() -> None:
    names = ["a/b", "A/B", "x" * 40, "x" * 41, ""]
    made = sheet_names(xlsx_bytes([Table(name, ("h",), []) for name in names]))
    assert made == ["a-b", "A-B-2", "x" * 31, "x" * 29 + "-2", "table"]


def test_a_table_longer_than_a_sheet_goes_on_on_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "MOST_ROWS", 3)
    made = xlsx_bytes([Table("long", ("n",), [(number,) for number in range(7)])])
    assert sheet_names(made) == ["long", "long-2", "long-3"]
    counted = [value for number in (1, 2, 3) for at, value in cells(made, number).items()
               if at != "A1"]  # fmt: skip
    assert counted == list(range(7))


def test_text_longer_than_a_cell_is_cut_where_one_sees_it() -> None:
    text = cells(xlsx_bytes([Table("a", ("x",), [("y" * 40_000,)])]))["A2"]
    assert isinstance(text, str)
    assert len(text) == workbook.MOST_LETTERS
    assert text.endswith("…")


def test_per_cent_only_where_the_head_says_share_and_the_numbers_are_one() -> None:
    head = (
        "step",
        "share_between_operators",
        "low",
        "high",
        "n",
        "wrong_rate",
        "odds_ratio",
        "low",
    )
    rows = [("soak", 0.2, 0.1, 0.3, 5, 0.1, 1.5, 1.1), ("rinse", None, None, None, 5, 7.5, 2, 1)]
    assert share_columns(head, rows) == [False, True, True, True, False, False, False, False]


@pytest.mark.parametrize("rows", [[(1, 2)], [()]])
def test_a_row_of_another_length_is_an_error(rows: list[Row]) -> None:
    with pytest.raises(ValueError, match="row 1 has"):
        xlsx_bytes([Table("a", ("x",), rows)])


def test_no_table_is_an_error() -> None:
    with pytest.raises(ValueError, match="at least one"):
        xlsx_bytes([])
