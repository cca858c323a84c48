"""From the index to the tables of a cohort, in bulk: nothing here loops over sittings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from numpy.typing import NDArray
from sqlalchemy import select

from scoring.cohort.table import (
    DECISION_COLUMNS,
    MISTAKE_COLUMNS,
    SCENARIO_COLUMNS,
    SITTING_COLUMNS,
    STATION_COLUMNS,
    UNHEARD,
    WHO_COLUMNS,
    CohortTable,
)
from scoring.model import STATIONS
from scoring.records.index import Index
from scoring.records.packed import RESULTS, SLIPS, SUMS, VERDICTS, unpacked
from scoring.records.people import Person
from scoring.records.tables import DecisionRow, Name, Sitting

Counts = Literal["first", "last", "best"]

_VERDICTS, _STATIONS = pd.Index(VERDICTS, dtype="str"), pd.Index(STATIONS, dtype="str")

DAYS_A_MONTH = 365.25 / 12
"""Mean length of a month, days: of the Julian year."""


def read_sittings(index: Index) -> pd.DataFrame:
    """Return every exam sitting of the index, by time of start and id, as it was stored.

    Raises
    ------
    RecordsError
        The database cannot be read.
    """
    sat = Sitting.__table__.c
    found = index.columns(
        select(
            sat.sitting, sat.operator, sat.form, sat.form_version, sat.form_digest, sat.site,
            sat.site_digest, sat.started, sat.closed, sat.sat_with, sat.marked_with,
            sat.sums, sat.results, sat.slips,
        ).where(sat.purpose == "exam").order_by(sat.sitting)
    )  # fmt: skip
    rows = pd.DataFrame(found)
    rows["form"] = rows["form"].astype(str) + "_v" + rows["form_version"].astype(str)
    rows["complete"] = rows["closed"].notna()
    rows["day"] = rows["started"].astype(str).str[:10]
    rows["started"] = pd.to_datetime(rows["started"], utc=True, format="ISO8601")
    return rows.sort_values(["started", "sitting"], kind="stable", ignore_index=True)


def that_count(rows: pd.DataFrame, counts: Mapping[str, Counts]) -> pd.DataFrame:
    """Return the sittings that count: one of each operator and form.

    Parameters
    ----------
    rows : DataFrame
        As `read_sittings` returns them.
    counts : mapping of str to str
        The rule of each form, by its name; the last sitting counts where none is given.

    Notes
    -----
    The rule of :func:`scoring.marking.attempts.counting`, for all forms at once. Somebody
    who handed nothing in is kept with the latest try, as unfinished.
    """
    rule = rows["form"].map(lambda form: counts.get(form, "last"))
    order = pd.Series(np.arange(len(rows), dtype=float), index=rows.index)
    order = order.where(rule != "first", -order)
    passed = pd.Series(0, index=rows.index)
    share = pd.Series(0.0, index=rows.index)
    if (rule == "best").any():
        results, at = unpacked(rows["results"].tolist(), RESULTS)
        competent = results["verdict"] == VERDICTS.index("competent")
        total = np.bincount(at, results["maximum"], len(rows))
        points = np.bincount(at, results["points"], len(rows))
        best = rule == "best"
        passed = passed.where(~best, np.bincount(at[competent], minlength=len(rows)))
        share = share.where(~best, points / np.where(total > 0, total, 1.0))
        order = order.where(~best, -order)  # of equals the earlier one
    # Nobody unfinished stands above somebody finished; among unfinished the latest does.
    latest = pd.Series(np.arange(len(rows), dtype=float), index=rows.index)
    ranked = rows.assign(
        _done=rows["complete"],
        _passed=passed.where(rows["complete"], 0),
        _share=share.where(rows["complete"], 0.0),
        _order=order.where(rows["complete"], latest),
    ).sort_values(["_done", "_passed", "_share", "_order"], kind="stable")
    kept = ranked.drop_duplicates(["operator", "form"], keep="last").index
    return rows.loc[sorted(kept)].reset_index(drop=True)


def read_table(
    index: Index, rows: pd.DataFrame, people: Mapping[str, Person] | None = None
) -> CohortTable:
    """Return the tables of some sittings.

    Parameters
    ----------
    index : Index
        The table's decisions are read from it as well, when they are asked for; whoever closes
        it before that gives the table another way to read them.
    rows : DataFrame
        The sittings, as `that_count` returns them.
    people : mapping of str to Person, optional
        Site, shift and time in post by operator code; a sitting's own site where a
        person has none.

    Raises
    ------
    RecordsError
        The database cannot be read.
    """
    sat = _with_people(rows, people or {})
    names = _names(index)
    who = {name: _coded(sat[name]) for name in WHO_COLUMNS}
    sums, at = unpacked(sat["sums"].tolist(), SUMS)
    scenarios = _of(who, at, sums, {"scenario": names, "station": _STATIONS})
    results, at = unpacked(sat["results"].tolist(), RESULTS)
    complete = sat["complete"].to_numpy(dtype=bool)[at]
    results = results.copy()
    results["verdict"][~complete] = VERDICTS.index(UNHEARD)
    stations = _of(who, at, results, {"verdict": _VERDICTS, "station": _STATIONS})
    stations["complete"] = complete
    stations["finished"] = complete & (results["decisions"] > 0) & (results["unanswered"] == 0)
    slips, at = unpacked(sat["slips"].tolist(), SLIPS)
    mistakes = _of(
        who, at, slips, {"scenario": names, "decision": names, "mistake": names,
                         "station": _STATIONS},
    )  # fmt: skip
    return CohortTable(
        sittings=sat[list(SITTING_COLUMNS)],
        scenarios=scenarios[list(SCENARIO_COLUMNS)],
        stations=stations[list(STATION_COLUMNS)],
        mistakes=mistakes[list(MISTAKE_COLUMNS)],
        read_decisions=lambda: read_decisions(index, sat),
    )


def _of(
    who: Mapping[str, pd.Categorical],
    at: NDArray[np.intp],
    records: NDArray[Any],
    texts: Mapping[str, pd.Index],
) -> pd.DataFrame:
    """Return packed records as a table, with the sitting each belongs to and its texts."""
    columns: dict[str, Any] = {name: texts_of.take(at) for name, texts_of in who.items()}
    columns["at"] = at
    for name in records.dtype.names or ():
        held = np.ascontiguousarray(records[name])
        if name in texts:
            columns[name] = _named(held, texts[name])
        else:
            columns[name] = held if held.dtype.kind == "f" else held.astype(np.int64)
    return pd.DataFrame(columns)


def _coded(texts: pd.Series) -> pd.Categorical:
    """Return texts as categories, sorted: counting by them then never compares a text."""
    return pd.Categorical(texts.astype("str"))


def _named(numbers: NDArray[Any], texts: pd.Index) -> pd.Categorical:
    """Return the text of each number as categories: those that occur, sorted."""
    used = np.flatnonzero(np.bincount(numbers, minlength=len(texts)))
    order = used[np.argsort(texts.to_numpy(dtype=object)[used], kind="stable")]
    place = np.full(len(texts), -1)
    place[order] = np.arange(len(order))
    return pd.Categorical.from_codes(place[numbers], categories=texts[order])


def _names(index: Index) -> pd.Index:
    found = index.columns(select(Name.number, Name.text).order_by(Name.number))
    return pd.Index(found["text"], dtype="str")


def _with_people(rows: pd.DataFrame, people: Mapping[str, Person]) -> pd.DataFrame:
    who = rows["operator"].map(lambda code: people.get(code))
    site = [person.site if person and person.site else own
            for person, own in zip(who, rows["site"], strict=True)]  # fmt: skip
    since = pd.to_datetime(
        pd.Series([person.since if person else None for person in who], dtype=object), utc=True
    )
    post = (rows["started"] - since).dt.total_seconds() / 86_400 / DAYS_A_MONTH
    return rows.assign(
        site=pd.Series(site, dtype=object, index=rows.index),
        shift=pd.Series(
            [person.shift if person else "" for person in who], dtype=object, index=rows.index
        ),
        month=rows["day"].str[:7],
        months_in_post=post,
    )


def _placed(found: dict[str, Any], sat: pd.DataFrame, place: pd.Series) -> pd.DataFrame:
    """Return rows with the sitting they belong to; rows of other sittings are left out."""
    rows = pd.DataFrame(found)
    at = rows["sitting"].map(place)
    rows = rows[at.notna()].assign(at=at.dropna().astype(int)).reset_index(drop=True)
    rows = rows.sort_values("at", kind="stable", ignore_index=True)
    where = rows["at"].to_numpy(dtype=int)
    return rows.assign(**{name: sat[name].to_numpy()[where] for name in WHO_COLUMNS})


def read_decisions(index: Index, sat: pd.DataFrame) -> pd.DataFrame:
    """Return every decision of some sittings, `DECISION_COLUMNS`, in the order they were met.

    Raises
    ------
    RecordsError
        The database cannot be read.
    """
    place = pd.Series(np.arange(len(sat)), index=sat["sitting"])
    row = DecisionRow.__table__.c
    rows = _placed(
        index.columns(
            select(
                row.sitting, row.scenario, row.decision, row.station, row.assessed, row.credit,
                row.maximum, row.reason, row.unsafe, row.critical, row.hinted, row.off,
            ).order_by(row.sitting, row.number)
        ), sat, place,
    )  # fmt: skip
    flags = dict.fromkeys(("assessed", "unsafe", "critical", "hinted"), bool)
    rows = rows.astype(flags)
    rows["off"] = pd.to_numeric(rows["off"], errors="coerce")
    rows["points"] = rows["credit"] * rows["maximum"]
    return rows[list(DECISION_COLUMNS)]
