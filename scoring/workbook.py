"""Tables as one Excel workbook: nothing in it is run, numbers stay numbers, dates dates."""

from __future__ import annotations

import io
import numbers
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from itertools import islice
from typing import Protocol

import xlsxwriter  # type: ignore[import-untyped]

from scoring.spreadsheet import FORMULA_STARTS, Row, is_missing

MOST_ROWS = 1_048_575
"""Rows below the head that one sheet of the file format holds (ECMA-376 part 1; from memory)."""

MOST_LETTERS = 32_767
"""Letters that one cell holds (from memory: published limits of the format's best-known reader)."""

MOST_NAME = 31
"""Letters in the name of a sheet (the same source)."""

WIDEST = 60
"""Widest column, in digits; longer text is wrapped. A working judgement."""

NARROWEST = 8

SHARES = frozenset({"share", "shares", "rate", "probability", "chance"})
"""A column whose head has one of these words holds numbers from 0 to 1, shown as per cent."""

ENDS = frozenset({"low", "high", "lowest", "highest", "from", "to"})
"""Ends of an interval: shown as the column that they belong to."""

EPOCH = datetime(2000, 1, 1)
"""Written as the time of making, so that the same tables always give the same bytes."""


class Tabular(Protocol):
    """A table with a name: head and rows."""

    @property
    def name(self) -> str:
        """Short name."""
        ...

    @property
    def head(self) -> Sequence[str]:
        """Names of the columns."""
        ...

    @property
    def rows(self) -> Iterable[Row]:
        """The rows, each as long as the head."""
        ...


def xlsx_bytes(sheets: Sequence[Tabular]) -> bytes:
    """Return tables as one workbook, a sheet each; the same tables always give the same bytes.

    Parameters
    ----------
    sheets : sequence of Tabular
        At least one. Numbers become numbers, dates dates, None and NaN empty cells, and text
        text, never a formula or a link. A table longer than a sheet goes on on the next.

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        No sheet, or a row that is not as long as the head.
    """
    if not sheets:
        raise ValueError("a workbook needs at least one table")
    target = io.BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True})
    book.set_properties({"created": EPOCH})
    looks = _Looks(book)
    names: set[str] = set()
    for sheet in sheets:
        for part in _parts(sheet.rows):
            _write(book.add_worksheet(_name(sheet.name, names)), sheet.head, part, looks)
    book.close()
    return target.getvalue()


class _Looks:
    """The formats of one workbook, made once."""

    def __init__(self, book: xlsxwriter.Workbook) -> None:
        top = {"valign": "top"}
        self.head = book.add_format({"bold": True, "text_wrap": True, **top, "bottom": 1})
        self.text = book.add_format({"text_wrap": True, **top})
        self.quoted = book.add_format({"text_wrap": True, **top, "quote_prefix": True})
        self.whole = book.add_format({"num_format": "0", **top})
        self.number = book.add_format({"num_format": "0.00##", **top})
        self.share = book.add_format({"num_format": "0.0%", **top})
        self.day = book.add_format({"num_format": "yyyy-mm-dd", **top})
        self.moment = book.add_format({"num_format": "yyyy-mm-dd hh:mm", **top})


def _parts(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """Yield the rows in parts that fit one sheet; one empty part where there are none."""
    left = iter(rows)
    part = list(islice(left, MOST_ROWS))
    yield part
    while part := list(islice(left, MOST_ROWS)):
        yield part


def _name(wanted: str, taken: set[str]) -> str:
    """Return a name that the format allows and no other sheet has."""
    clean = re.sub(r"[\[\]:*?/\\']", "-", wanted)[:MOST_NAME] or "table"
    name, number = clean, 1
    while name.lower() in taken:
        number += 1
        name = f"{clean[: MOST_NAME - len(str(number)) - 1]}-{number}"
    taken.add(name.lower())
    return name


def _write(
    sheet: xlsxwriter.worksheet.Worksheet, head: Sequence[str], rows: list[Row], looks: _Looks
) -> None:
    shares = share_columns(head, rows)
    widest = [min(len(name), WIDEST // 3) for name in head]
    for column, name in enumerate(head):
        sheet.write_string(0, column, name, looks.head)
    for line, row in enumerate(rows, start=1):
        if len(row) != len(head):
            raise ValueError(f"row {line} has {len(row)} cells; the head has {len(head)}")
        for column, value in enumerate(row):
            length = _cell(sheet, line, column, value, looks, shares[column])
            widest[column] = max(widest[column], length)
    for column, length in enumerate(widest):
        sheet.set_column(column, column, min(max(length + 2, NARROWEST), WIDEST))
    sheet.freeze_panes(1, 0)


def _cell(
    sheet: xlsxwriter.worksheet.Worksheet,
    line: int,
    column: int,
    value: object,
    looks: _Looks,
    share: bool,
) -> int:
    """Write one cell and return how long it is on screen."""
    if is_missing(value):
        return 0
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, datetime):
        sheet.write_datetime(line, column, value.replace(tzinfo=None), looks.moment)
        return 16
    if isinstance(value, date):
        sheet.write_datetime(line, column, value, looks.day)
        return 10
    if isinstance(value, numbers.Real) and abs(float(value)) != float("inf"):
        whole = isinstance(value, numbers.Integral)
        look = looks.share if share else looks.whole if whole else looks.number
        sheet.write_number(line, column, float(value), look)
        return len(str(value)) if whole else 8
    text = str(value).encode("utf-8", "replace").decode("utf-8")
    if len(text) > MOST_LETTERS:
        text = f"{text[: MOST_LETTERS - 1]}\N{HORIZONTAL ELLIPSIS}"
    look = looks.quoted if text.startswith(FORMULA_STARTS) else looks.text
    sheet.write_string(line, column, text, look)
    return len(text)


def share_columns(head: Sequence[str], rows: Sequence[Row]) -> list[bool]:
    """Say of each column whether it is shown as per cent: by its head, and all between -1 and 1."""
    shares: list[bool] = []
    for column, name in enumerate(head):
        words = set(re.split(r"[^a-z]+", name.lower()))
        named = bool(words & SHARES) or (bool(words & ENDS) and bool(shares) and shares[-1])
        shares.append(named and all(_small(row[column]) for row in rows if column < len(row)))
    return shares


def _small(value: object) -> bool:
    if not isinstance(value, numbers.Real):
        return True
    return is_missing(value) or -1 <= float(value) <= 1
