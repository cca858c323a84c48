"""From the index to the tables of a cohort, in bulk: nothing here loops over sittings."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Literal

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from sqlalchemy import String, case, cast, select

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
from scoring.marking.marks import Verdict
from scoring.records.index import Index
from scoring.records.people import Person
from scoring.records.tables import DecisionRow, ScenarioRow, Sitting, StationRow

Counts = Literal["first", "last", "best"]

VERDICTS: tuple[Verdict, ...] = ("not assessed", "not yet", "borderline", "competent")
"""By the number that the query gives each, so that it need not hand text over."""

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
        ).where(sat.purpose == "exam").order_by(sat.sitting)
    )  # fmt: skip
    rows = pd.DataFrame(found)
    rows["form"] = rows["form"].astype(str) + "_v" + rows["form_version"].astype(str)
    rows["complete"] = rows["closed"].notna()
    rows["day"] = rows["started"].astype(str).str[:10]
    rows["started"] = pd.to_datetime(rows["started"], utc=True, format="ISO8601")
    return rows.sort_values(["started", "sitting"], kind="stable", ignore_index=True)


def that_count(rows: pd.DataFrame, index: Index, counts: Mapping[str, Counts]) -> pd.DataFrame:
    """Return the sittings that count: one of each operator and form.

    Parameters
    ----------
    rows : DataFrame
        As `read_sittings` returns them.
    index : Index
        Asked for results only where a form counts the best.
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
        goodness = _goodness(index).reindex(rows["sitting"])
        best = rule == "best"
        passed = passed.where(~best, goodness["passed"].fillna(0).to_numpy())
        share = share.where(~best, goodness["share"].fillna(0.0).to_numpy())
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
    place = pd.Series(np.arange(len(sat)), index=sat["sitting"])
    sums = ScenarioRow.__table__.c
    scenarios = _placed(
        index.columns(select(*(c for c in sums if c.name != "number")).order_by(
            sums.sitting, sums.number
        )), sat, place,
    )  # fmt: skip
    scenarios["residual"] = pd.to_numeric(scenarios["residual"], errors="coerce")
    results = StationRow.__table__.c
    verdict = case(
        *((results.verdict == name, number) for number, name in enumerate(VERDICTS)), else_=0
    )
    stations = _placed(
        index.columns(
            select(
                results.sitting, results.station, verdict.label("verdict"), results.points,
                results.maximum, results.share, results.decisions, results.unanswered,
                cast(results.failed_critical, String).label("failed_critical"),
            ).order_by(results.sitting, results.number)
        ), sat, place,
    )  # fmt: skip
    complete = sat["complete"].to_numpy(dtype=bool)[stations["at"].to_numpy(dtype=int)]
    named = np.array(VERDICTS, dtype=object)[stations["verdict"].to_numpy(dtype=int)]
    stations["verdict"] = np.where(complete, named, UNHEARD)
    stations["complete"] = complete
    stations["failed_critical"] = _lengths(stations["failed_critical"])
    stations["finished"] = complete & (stations["decisions"] > 0) & (stations["unanswered"] == 0)
    return CohortTable(
        sittings=sat[list(SITTING_COLUMNS)],
        scenarios=scenarios[list(SCENARIO_COLUMNS)],
        stations=stations[list(STATION_COLUMNS)],
        mistakes=_mistakes(index, sat, place),
        read_decisions=lambda: read_decisions(index, sat),
    )


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


def _mistakes(index: Index, sat: pd.DataFrame, place: pd.Series) -> pd.DataFrame:
    row = DecisionRow.__table__.c
    rows = _placed(
        index.columns(
            select(
                row.sitting, row.station, row.scenario, row.decision,
                cast(row.mistakes, String).label("mistake"),
            ).where(row.credit < 1, row.assessed.is_(True)).order_by(row.sitting, row.number)
        ), sat, place,
    )  # fmt: skip
    # Few different lists stand in many rows: each is read once.
    code, texts = pd.factorize(rows["mistake"])
    lists = np.empty(len(texts), dtype=object)
    lists[:] = [tuple(json.loads(text)) for text in texts]
    rows["mistake"] = lists[code] if len(code) else rows["mistake"]
    rows = rows.explode("mistake", ignore_index=True)
    return rows[rows["mistake"].notna()].reset_index(drop=True)[list(MISTAKE_COLUMNS)]


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


def _goodness(index: Index) -> pd.DataFrame:
    """Return stations competent and share of points, by sitting."""
    results = StationRow.__table__.c
    rows = pd.DataFrame(
        index.columns(
            select(
                results.sitting,
                case((results.verdict == "competent", 1), else_=0).label("passed"),
                results.points,
                results.maximum,
            )
        )
    )
    summed = rows.groupby("sitting")[["passed", "points", "maximum"]].sum()
    return summed.assign(share=summed["points"] / summed["maximum"].where(summed["maximum"] > 0))


def _lengths(texts: pd.Series) -> Any:
    code, different = pd.factorize(texts)
    lengths = np.array([len(json.loads(text)) for text in different], dtype=int)
    return lengths[code] if len(code) else np.zeros(len(texts), dtype=int)
