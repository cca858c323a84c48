"""The roster: the one file that holds names beside operator codes.

Names are read from it when a trainer asks for slips with names, and go nowhere
else: no log, mark, gradebook or report holds a name.
"""

from __future__ import annotations

import contextlib
import csv
import io
from dataclasses import dataclass
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from scoring.faults import Fault, FaultError
from scoring.model import OperatorCode
from scoring.spreadsheet import FORMULA_STARTS

LARGEST_BYTES = 2_000_000
"""A roster of 20,000 people is about 600 kB; a larger file is the wrong file. A judgement."""

LONGEST_NAME = 80
"""Characters; longer text is not a name that fits a slip. A working judgement."""

_CODE: TypeAdapter[str] = TypeAdapter(OperatorCode)


@dataclass(frozen=True, slots=True)
class RosterEntry:
    """One person: the code used everywhere, and the name that stays in the roster."""

    code: str
    name: str = ""


def is_operator_code(text: str) -> bool:
    """Tell whether `text` has the form of an operator code, such as ``OP-017``."""
    try:
        _CODE.validate_python(text)
    except ValidationError:
        return False
    return True


def read_roster(path: Path) -> tuple[RosterEntry, ...]:
    """Read a roster: CSV with the columns ``code`` and, if wanted, ``name``.

    Parameters
    ----------
    path : Path
        The file; comma, semicolon or tab between the columns; UTF-8 with or without
        a mark at its start, UTF-16 with one ("Unicode text" of a spreadsheet), or
        Windows-1252.

    Returns
    -------
    tuple of RosterEntry
        In the order of the file, at least one.

    Raises
    ------
    FaultError
        One fault for each bad line, with its line number. Nobody is taken from
        a roster with a fault, so that a person is never left out in silence.
    """
    text = _decode(path)
    first_line = text.split("\n", 1)[0]
    skipped = 0
    if first_line.lower().startswith("sep="):  # Excel's own first line
        skipped, text = 1, text[len(first_line) + 1 :]
        first_line = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    entries: list[RosterEntry] = []
    faults: list[Fault] = []
    seen: dict[str, int] = {}
    try:
        columns = _columns(path, next(reader, []))
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            entry, fault = _entry(path, reader.line_num + skipped, cells, columns, seen)
            if fault is not None:
                faults.append(fault)
            elif entry is not None:
                seen[entry.code] = reader.line_num + skipped
                entries.append(entry)
    except csv.Error as error:
        faults.append(
            _fault(
                path,
                reader.line_num + skipped,
                str(error),
                "cells in CSV",
                "Save the roster again as CSV.",
            )
        )
    if not faults and not entries:
        faults.append(_fault(path, 2, "nobody", "at least one line with a code", "Add the people."))
    if faults:
        raise FaultError(faults)
    return tuple(entries)


def _decode(path: Path) -> str:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=error.strerror or type(error).__name__,
            wanted="a roster that can be read",
            remedy="Check the name of the file and that you may read it.",
        ) from error
    if len(content) <= LARGEST_BYTES and content.startswith((b"\xff\xfe", b"\xfe\xff")):
        with contextlib.suppress(UnicodeDecodeError):
            return content.decode("utf-16").replace("\r\n", "\n").replace("\r", "\n")
    if len(content) > LARGEST_BYTES or b"\0" in content:
        raise FaultError.one(
            path,
            "the whole file",
            found="a workbook or another kind of file" if b"\0" in content else "a very large file",
            wanted="CSV text with the columns code and name",
            remedy="In the spreadsheet, choose Save as, then CSV (UTF-8).",
        )
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return content.decode(encoding).replace("\r\n", "\n").replace("\r", "\n")
        except UnicodeDecodeError:
            continue
    raise FaultError.one(
        path,
        "the whole file",
        found="bytes that are neither UTF-8 nor Windows-1252",
        wanted="CSV text in UTF-8",
        remedy="In the spreadsheet, choose Save as, then CSV (UTF-8).",
    )


def _columns(path: Path, header: list[str]) -> dict[str, int]:
    columns = {cell.strip().lower(): place for place, cell in enumerate(header)}
    if "code" not in columns:
        raise FaultError.one(
            path,
            "line 1",
            found=", ".join(header) or "nothing",
            wanted="a first line with the column code, and name if names are kept",
            remedy="Write the first line as: code,name",
        )
    return columns


def _entry(
    path: Path, line: int, cells: list[str], columns: dict[str, int], seen: dict[str, int]
) -> tuple[RosterEntry | None, Fault | None]:
    code = _cell(cells, columns["code"]).upper()  # as the sign-in takes it
    name = _cell(cells, columns["name"]) if "name" in columns else ""
    if not is_operator_code(code):
        wanted = "a code such as OP-017: one to four capitals, a dash if wanted, digits"
        return None, _fault(path, line, code or "no code", wanted, "Correct the code.")
    if code in seen:
        return None, _fault(
            path, line, code, f"each code once (it stands in line {seen[code]})",
            "Give each person a code of their own, or take the line out.",
        )  # fmt: skip
    bad = _name_fault(name)
    if bad:
        return None, _fault(path, line, name, bad, "Write the name as plain words.")
    return RosterEntry(code, name), None


def _cell(cells: list[str], place: int) -> str:
    return cells[place].strip(" ") if place < len(cells) else ""


def _name_fault(name: str) -> str:
    """Return what is wanted instead of a name that could do something; empty when it is fine."""
    if name.startswith(FORMULA_STARTS):
        return "a name that does not start with = + - or @ (a spreadsheet would run it)"
    if "<" in name or ">" in name:
        return "a name without < and > (a page would read it as HTML)"
    if not name.isprintable():
        return "a name of printable letters"
    if len(name) > LONGEST_NAME:
        return f"a name of at most {LONGEST_NAME} letters"
    return ""


def _fault(path: Path, line: int, found: str, wanted: str, remedy: str) -> Fault:
    return FaultError.one(path, f"line {line}", found=found, wanted=wanted, remedy=remedy).faults[0]
