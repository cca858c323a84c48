"""Which sittings a cohort is made of, read from the index, and where they come from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.invented import INVENTED
from scoring.cohort.reading import Counts, read_decisions, read_sittings, read_table, that_count
from scoring.cohort.table import CohortTable
from scoring.records.index import Index
from scoring.records.people import Happening, read_events, read_people
from scoring.records.places import find_logs
from scoring.settings import Settings

SHORT = 12
"""Digits of a digest that are printed: enough to tell any two apart by eye. A working judgement."""


@dataclass(frozen=True)
class Gathered:
    """The sittings of a cohort.

    Attributes
    ----------
    table : CohortTable
        One sitting of each operator and form: the one that counts, or an unfinished one
        where nothing was handed in.
    events : tuple of Happening
        What happened in the department, by day.
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

    table: CohortTable
    events: tuple[Happening, ...]
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
        Where index, answer logs and the files of people and events are.
    counts : mapping of str to str, optional
        The rule of each form, by its name; the last sitting counts where none is given.

    Raises
    ------
    FaultError
        The index cannot be used, or a file of people or events has a fault.
    """
    people, events = read_people(settings), read_events(settings)
    logs = {path.stem for path in find_logs(settings, "exam")}
    index = Index(settings.index_url())
    try:
        rows = read_sittings(index)
        invented = rows["sitting"].astype(str).str.startswith(INVENTED)
        real = rows[~invented]
        asked = real if len(real) else rows
        kept = that_count(asked.reset_index(drop=True), counts or {})
        table = read_table(index, kept, people)
    finally:
        index.close()
    return Gathered(
        table=replace(table, read_decisions=lambda: _later(settings, table.sittings)),
        events=events,
        invented=bool(len(kept)) and not len(real),
        left_out=len(rows) - len(asked),
        repeated=len(asked) - len(kept),
        waiting=len(logs - set(rows["sitting"])),
        origin=origin(kept),
    )


def origin(rows: pd.DataFrame) -> tuple[tuple[str, str], ...]:
    """Say where sittings come from: period, forms with digests, site values, versions."""
    if rows.empty:
        return ()
    return (
        ("Sat between", f"{rows['day'].min()} and {rows['day'].max()}"),
        ("Forms (digest)", _each(rows["form"] + " (" + rows["form_digest"].str[:SHORT] + ")")),
        (
            "Site values (digest)",
            _each(rows["site"] + " (" + rows["site_digest"].str[:SHORT] + ")"),
        ),
        ("Sat with version", _each(rows["sat_with"] + ", marked with " + rows["marked_with"])),
    )


def _each(texts: pd.Series) -> str:
    return "; ".join(sorted(texts.unique()))


def _later(settings: Settings, sat: pd.DataFrame) -> pd.DataFrame:
    index = Index(settings.index_url())
    try:
        return read_decisions(index, sat)
    finally:
        index.close()
