"""An index of many invented sittings, written straight into its tables: for benchmarks only.

Only what a cohort is read from is written: the sittings with their packed results, and the
names. Writing ten million decisions one by one would take minutes and nobody reads them here.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

import numpy as np

from scoring.model import STATIONS
from scoring.records.index import Index
from scoring.records.packed import RESULTS, SLIPS, SUMS, VERDICTS
from scoring.records.tables import Name, Sitting

DECISIONS = 5
"""Decisions in a scenario, and one scenario a station: the shape of the kit's exam forms."""

SPREADS = (0.4, 0.5, 1.9, 0.7, 0.3)
"""Standard deviation between operators by station, logit: as in the sample cohort."""


def write_large_index(path: Path, operators: int, sittings: int, seed: int = 1) -> str:
    """Write an index and return its URL.

    Parameters
    ----------
    path : Path
        A new file.
    operators, sittings : int
        People, and forms that each of them sat; a form has 25 decisions.
    seed : int
    """
    url = f"sqlite:///{path}"
    index = Index(url)
    index.sittings()  # makes the tables
    index.close()
    rng = np.random.default_rng(seed)
    stations = len(STATIONS)
    scenarios = [
        f"scenario-{form}-{place}" for form in range(sittings) for place in range(stations)
    ]
    names = [*scenarios, *(f"decision-{n}" for n in range(DECISIONS)),
             *(f"M{10 + n}" for n in range(DECISIONS))]  # fmt: skip
    decision, mistake = len(scenarios), len(scenarios) + DECISIONS
    ability = 1.3 + rng.normal(size=(operators, stations)) * np.array(SPREADS)
    hard = rng.normal(0, 0.5, (sittings, stations))
    columns = [column.name for column in Sitting.__table__.columns]
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.executemany(
            f"insert into {Name.__tablename__} values (?, ?)",  # noqa: S608 - our own table
            list(enumerate(names)),
        )
        for person in range(operators):
            chance = 1 / (1 + np.exp(hard - ability[person]))
            right = rng.random((sittings, stations, DECISIONS)) < chance[:, :, None]
            rows = []
            for form in range(sittings):
                month = form % 12 + 1
                own = {
                    "sitting": f"exam-{person:05d}-{form:03d}",
                    "operator": f"OP-{person + 1}",
                    "purpose": "exam",
                    "form": f"form-{form}",
                    "form_version": 1,
                    "form_digest": "f" * 64,
                    "site": f"invented-{person % 2}",
                    "site_digest": "5" * 64,
                    "language": "en",
                    "started": f"2025-{month:02d}-03T08:{person % 60:02d}:00+00:00",
                    "closed": f"2025-{month:02d}-03T09:00:00+00:00",
                    "log_digest": "0" * 64,
                    "sat_with": "0",
                    "marked_with": "0",
                    "unplaced": "[]",
                    **_packed(right[form], form * stations, decision, mistake),
                }
                rows.append(tuple(own[name] for name in columns))
            connection.executemany(
                f"insert into {Sitting.__tablename__} ({', '.join(columns)}) "  # noqa: S608
                f"values ({', '.join('?' * len(columns))})",
                rows,
            )
    connection.close()
    return url


def _packed(right: np.ndarray, first: int, decision: int, mistake: int) -> dict[str, bytes]:
    stations = len(STATIONS)
    found = right.sum(axis=1)
    sums = np.zeros(stations, SUMS)
    sums["scenario"] = first + np.arange(stations)
    sums["station"] = np.arange(stations)
    sums["decisions"] = sums["assessed"] = DECISIONS
    sums["right"] = sums["points"] = found
    sums["maximum"] = DECISIONS
    sums["unsafe"] = sums["failed_critical"] = ~right[:, 0]
    sums["seconds"] = 100.0
    sums["residual"] = np.nan
    looked = sums[-1:]
    looked["hits"], looked["misses"] = 1 + right[-1, 0], 1 - right[-1, 0]
    looked["false_alarms"], looked["correct_rejections"] = 1 - right[-1, 1], 3 + right[-1, 1]
    results = np.zeros(stations, RESULTS)
    results["station"] = np.arange(stations)
    results["verdict"] = VERDICTS.index("competent")
    results["points"], results["maximum"] = found, DECISIONS
    results["share"] = found / DECISIONS
    results["decisions"] = DECISIONS
    station, number = np.nonzero(~right)
    slips = np.zeros(len(station), SLIPS)
    slips["station"], slips["scenario"] = station, first + station
    slips["decision"], slips["mistake"] = decision + number, mistake + number
    return {"sums": sums.tobytes(), "results": results.tobytes(), "slips": slips.tobytes()}
