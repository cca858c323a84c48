"""Right and wrong decisions counted by operator and scenario: what the models are fitted to."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable
from scoring.model import Station

SUMMED = ("assessed", "right", "hits", "misses", "false_alarms", "correct_rejections")

EMPTY = 4
"""Pairs that nobody met, for each row, up to which a whole table of pairs is counted: faster
than sorting the rows. An assumption; the result is the same."""


def handed_in(table: CohortTable, station: Station | None = None) -> pd.DataFrame:
    """Return the scenarios of sittings that were handed in, with an answer or more.

    Codes of operators and scenarios are categories, so that counting is quick.
    """
    rows = table.answered
    return rows if station is None else rows[rows["station"] == station]


def answer_cells(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the counts of each operator at each scenario met, sorted; columns `SUMMED` too."""
    operator, scenario = rows["operator"].cat, rows["scenario"].cat
    across = len(scenario.categories)
    key = operator.codes.to_numpy(dtype=np.int64) * across + scenario.codes.to_numpy()
    met, place, size = _places(key, len(operator.categories) * across)
    who, what = np.divmod(met, max(1, across))
    return pd.DataFrame(
        {
            "operator": pd.Categorical.from_codes(who, dtype=rows["operator"].dtype),
            "scenario": pd.Categorical.from_codes(what, dtype=rows["scenario"].dtype),
            **{
                name: np.bincount(place, rows[name].to_numpy(dtype=float), size)[
                    met if size > len(met) else slice(None)
                ].astype(np.int64)
                for name in SUMMED
            },
        }
    )


def _places(
    key: npt.NDArray[np.int64], pairs: int
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], int]:
    """Return the keys met, sorted, where each row is counted, and in how many places."""
    if pairs <= (1 + EMPTY) * len(key):
        return np.flatnonzero(np.bincount(key, minlength=pairs)), key, pairs
    met, place = np.unique(key, return_inverse=True)
    return met, place.astype(np.int64), len(met)


def by_operator(cells: pd.DataFrame) -> pd.DataFrame:
    """Return the counts of `answer_cells` summed over scenarios; one row a code, sorted."""
    codes = cells["operator"].cat.codes.to_numpy()
    names = cells["operator"].cat.categories
    met = np.flatnonzero(np.bincount(codes, minlength=len(names)))
    return pd.DataFrame(
        {
            name: np.bincount(codes, cells[name].to_numpy(dtype=float), len(names))[met].astype(
                np.int64
            )
            for name in SUMMED
        },
        index=pd.Index(names[met], name="operator"),
    )
