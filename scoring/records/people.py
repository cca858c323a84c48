"""Who works where and when, and what happened: by operator code, never by name.

Two files that a trainer keeps beside the records, both optional: ``operators.csv``
(code, site, shift, since) and ``events.csv`` (date, kind, station, operators, note).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal, get_args

from pydantic import TypeAdapter, ValidationError

from scoring.faults import Fault, FaultError
from scoring.model import STATIONS, OperatorCode, Station
from scoring.settings import Settings

OPERATORS_FILE = "operators.csv"
EVENTS_FILE = "events.csv"

EventKind = Literal["retraining", "new_device", "new_chemical", "other"]
EVENT_KINDS: tuple[EventKind, ...] = get_args(EventKind)

_CODE: TypeAdapter[str] = TypeAdapter(OperatorCode)


@dataclass(frozen=True, slots=True)
class Person:
    """One operator: where, on which shift, and in post since when (None: not known)."""

    code: str
    site: str
    shift: str
    since: date | None


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that may change how people work from `day` on.

    Attributes
    ----------
    day : date
    kind : EventKind
    station : Station or None
        None means every station.
    operators : tuple of str
        Codes concerned; empty means everybody.
    note : str
    """

    day: date
    kind: EventKind
    station: Station | None
    operators: tuple[str, ...]
    note: str


def read_people(settings: Settings) -> dict[str, Person]:
    """Return the operators by code; empty where there is no file.

    Raises
    ------
    FaultError
        A fault for each bad line; nobody is taken from a file with a fault.
    """
    path = settings.records / OPERATORS_FILE
    people: dict[str, Person] = {}
    faults: list[Fault] = []
    for line, row in _rows(path, ("code", "site", "shift", "since")):
        try:
            person = Person(
                _code(row["code"]),
                row["site"],
                row["shift"],
                _day(row["since"]) if row["since"] else None,
            )
        except ValueError as error:
            faults.append(_fault(path, line, str(error)))
            continue
        if person.code in people:
            faults.append(_fault(path, line, f"{person.code!r} stands twice; wanted once"))
        people[person.code] = person
    if faults:
        raise FaultError(faults)
    return people


def read_events(settings: Settings) -> tuple[Happening, ...]:
    """Return what happened, by day; empty where there is no file.

    Raises
    ------
    FaultError
        A fault for each bad line.
    """
    path = settings.records / EVENTS_FILE
    events: list[Happening] = []
    faults: list[Fault] = []
    for line, row in _rows(path, ("date", "kind", "station", "operators", "note")):
        try:
            events.append(_happening(row))
        except ValueError as error:
            faults.append(_fault(path, line, str(error)))
    if faults:
        raise FaultError(faults)
    return tuple(sorted(events, key=lambda event: (event.day, event.kind, event.note)))


def _happening(row: dict[str, str]) -> Happening:
    kinds = {kind: kind for kind in EVENT_KINDS}
    if row["kind"] not in kinds:
        raise ValueError(f"kind {row['kind']!r}; wanted one of {', '.join(EVENT_KINDS)}")
    stations: dict[str, Station | None] = {"": None, **{name: name for name in STATIONS}}
    if row["station"] not in stations:
        raise ValueError(f"station {row['station']!r}; wanted {', '.join(STATIONS)} or nothing")
    return Happening(
        day=_day(row["date"]),
        kind=kinds[row["kind"]],
        station=stations[row["station"]],
        operators=tuple(_code(code) for code in row["operators"].split()),
        note=row["note"],
    )


def _rows(path: Path, columns: tuple[str, ...]) -> Iterator[tuple[int, dict[str, str]]]:
    if not path.exists():
        return
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=str(error),
            wanted=f"CSV text in UTF-8 with the columns {', '.join(columns)}",
            remedy="In the spreadsheet, choose Save as, then CSV (UTF-8).",
        ) from error
    reader = csv.DictReader(text.splitlines())
    missing = [name for name in columns if name not in (reader.fieldnames or ())]
    if missing:
        raise FaultError.one(
            path,
            "line 1",
            found=", ".join(reader.fieldnames or ()) or "nothing",
            wanted=f"the columns {', '.join(columns)}",
            remedy=f"Add the column {missing[0]}; its cells may be empty where nothing is known.",
        )
    for row in reader:
        yield reader.line_num, {name: (row[name] or "").strip() for name in columns}


def _code(text: str) -> str:
    try:
        return _CODE.validate_python(text)
    except ValidationError as error:
        raise ValueError(f"code {text!r}; wanted a code such as OP-017") from error


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ValueError(f"date {text!r}; wanted a date such as 2025-03-31") from error


def _fault(path: Path, line: int, said: str) -> Fault:
    found, _, wanted = said.partition("; wanted ")
    return Fault(str(path), f"line {line}", found, wanted, "Correct the line.")
