"""Marks to rows of the index and back."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

from scoring import KIT_VERSION
from scoring.marking.marks import DecisionMark, SittingMarks, StationResult
from scoring.marking.rule import Looked
from scoring.records.reading import ReadLog
from scoring.records.tables import Row

Part = TypeVar("Part", DecisionMark, StationResult)


class Marked(NamedTuple):
    """A sitting's log with its marks.

    `residual` is what the answers would have left on the instrument, by scenario: protein at
    the worst place, ug/cm2, by the bench; empty where nobody asked the bench.
    """

    log: ReadLog
    marks: SittingMarks
    residual: Mapping[str, float] = MappingProxyType({})


def sitting_row(marked: Marked) -> Row:
    """Return the row of the table of sittings."""
    header, close = marked.log.header, marked.log.close
    return {
        "sitting": header.sitting,
        "operator": header.operator,
        "purpose": header.purpose,
        "form": header.form,
        "form_version": header.form_version,
        "form_digest": header.form_digest,
        "site": header.site,
        "site_digest": header.site_digest,
        "language": header.language,
        "started": header.started.isoformat(),
        "closed": close.at.isoformat() if close else None,
        "log_digest": marked.log.tail,
        "sat_with": header.kit,
        "marked_with": KIT_VERSION,
        "unplaced": list(marked.marks.unplaced),
    }


def part_rows(marked: Iterable[Marked], field: str) -> Iterator[Row]:
    """Yield the rows of ``decisions`` or ``stations``, numbered within each sitting."""
    for one in marked:
        for number, part in enumerate(getattr(one.marks, field)):
            row = {
                item.name: _listed(getattr(part, item.name)) for item in dataclasses.fields(part)
            }
            yield {"sitting": one.marks.sitting, "number": number, **row}


def _listed(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def part_of(kind: type[Part], row: Row) -> Part:
    """Return what `part_rows` made this row from."""
    names = {item.name for item in dataclasses.fields(kind)}
    values: dict[str, Any] = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in row.items()
        if name in names
    }
    if values.get("looked") is not None:
        values["looked"] = Looked(*values["looked"])
    return kind(**values)
