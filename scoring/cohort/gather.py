"""Which sittings a cohort is made of, read from the index, and where they come from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from scoring.cohort.invented import INVENTED
from scoring.marking.attempts import Sat, counting
from scoring.marking.marks import SittingMarks
from scoring.records.index import Index
from scoring.records.places import find_logs
from scoring.settings import Settings

Counts = Literal["first", "last", "best"]

SHORT = 12
"""Digits of a digest that are printed: enough to tell any two apart by eye. A working judgement."""


@dataclass(frozen=True)
class Gathered:
    """The sittings of a cohort.

    Attributes
    ----------
    marks : tuple of SittingMarks
        One of each operator and form: the one that counts, or an unfinished one
        where nothing was handed in.
    invented : bool
        They are invented.
    left_out : int
        Invented sittings left out because there are real ones too.
    repeated : int
        Sittings left out because another one of the same operator and form counts.
    waiting : int
        Answer logs of exams that are not marked yet.
    origin : tuple of (str, str)
        Period, forms, site values and versions, for the foot of the report.
    """

    marks: tuple[SittingMarks, ...]
    invented: bool
    left_out: int
    repeated: int
    waiting: int
    origin: tuple[tuple[str, str], ...]


def gather(settings: Settings, counts: Mapping[str, Counts] | None = None) -> Gathered:
    """Read the exam sittings of the index and keep those that count.

    Parameters
    ----------
    settings : Settings
        Where index and answer logs are.
    counts : mapping of str to str, optional
        The rule of each form, by its name; the last sitting counts where none is given.

    Raises
    ------
    FaultError
        The index cannot be used.
    """
    index = Index(settings.index_url())
    try:
        rows = {row["sitting"]: row for row in index.sittings() if row["purpose"] == "exam"}
        marks = {one.sitting: one for one in index.marks() if one.sitting in rows}
    finally:
        index.close()
    logs = {path.stem for path in find_logs(settings, "exam")}
    real = [name for name in rows if not name.startswith(INVENTED)]
    names = real or list(rows)
    kept = _that_count(
        [(datetime.fromisoformat(rows[name]["started"]), marks[name]) for name in names],
        counts or {},
    )
    return Gathered(
        marks=kept,
        invented=bool(kept) and not real,
        left_out=len(rows) - len(names),
        repeated=len(names) - len(kept),
        waiting=len(logs - set(rows)),
        origin=origin([rows[one.sitting] for one in kept]),
    )


def origin(rows: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, str], ...]:
    """Say where sittings come from: period, forms with digests, site values, versions."""
    if not rows:
        return ()
    first, last = min(row["started"] for row in rows), max(row["started"] for row in rows)
    forms = {f"{row['form']}_v{row['form_version']} ({row['form_digest'][:SHORT]})" for row in rows}
    sites = {f"{row['site']} ({row['site_digest'][:SHORT]})" for row in rows}
    kits = {f"{row['sat_with']}, marked with {row['marked_with']}" for row in rows}
    return (
        ("Sat between", f"{first[:10]} and {last[:10]}"),
        ("Forms (digest)", "; ".join(sorted(forms))),
        ("Site values (digest)", "; ".join(sorted(sites))),
        ("Sat with version", "; ".join(sorted(kits))),
    )


def _that_count(sat: Iterable[Sat], counts: Mapping[str, Counts]) -> tuple[SittingMarks, ...]:
    by_form: dict[str, list[Sat]] = {}
    for one in sat:
        by_form.setdefault(one[1].form, []).append(one)
    kept: list[Sat] = []
    for form, sittings in sorted(by_form.items()):
        chosen = counting(sittings, counts.get(form, "last"))
        kept.extend(chosen.values())
        # Somebody who handed nothing in is shown as unfinished, by the latest try.
        tries = {one[1].operator: one for one in sorted(sittings, key=_when)}
        kept.extend(one for operator, one in tries.items() if operator not in chosen)
    return tuple(marks for _, marks in sorted(kept, key=_when))


def _when(sat: Sat) -> tuple[datetime, str]:
    return sat[0], sat[1].sitting
