"""Text that a spreadsheet may open: nothing in a cell is run as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A text cell that starts with one of these is run as a formula by common spreadsheets (OWASP,
"CSV Injection"; from memory)."""

Row = Sequence[object]


def csv_bytes(head: Row, rows: Iterable[Row]) -> bytes:
    """Return a table as CSV in UTF-8, with the mark by which spreadsheets know UTF-8."""
    target = io.StringIO()
    writer = csv.writer(target, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([cell(value) for value in row] for row in rows)
    return target.getvalue().encode("utf-8-sig")


def cell(value: object) -> str:
    """Return one cell: empty for nothing, four decimals for a fraction, text that no sheet runs."""
    if is_missing(value):
        return ""
    if isinstance(value, float):
        return f"{value:.4f}"
    if isinstance(value, int):
        return str(value)
    text = str(value)
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def is_missing(value: object) -> bool:
    """Say whether there is no value: None, or what is not equal to itself, as NaN is."""
    return value is None or bool(value != value)
