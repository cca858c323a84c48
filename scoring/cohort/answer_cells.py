"""Right and wrong decisions counted by operator and scenario: what the models are fitted to."""

from __future__ import annotations

import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable
from scoring.model import Station

SUMMED = ("assessed", "right", "hits", "misses", "false_alarms", "correct_rejections")


def handed_in(table: CohortTable, station: Station | None = None) -> pd.DataFrame:
    """Return the scenarios of sittings that were handed in, with an answer or more.

    Codes of operators and scenarios become categories, so that counting is quick.
    """
    rows = table.scenarios
    keep = rows["at"].map(table.sittings["complete"]).astype(bool) & (rows["assessed"] > 0)
    if station is not None:
        keep &= rows["station"] == station
    rows = rows[keep]
    return rows.assign(
        operator=rows["operator"].astype("category"), scenario=rows["scenario"].astype("category")
    )


def answer_cells(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the counts of each operator at each scenario met, sorted; columns `SUMMED` too."""
    grouped = rows.groupby(["operator", "scenario"], observed=True, sort=True)
    return grouped[list(SUMMED)].sum().reset_index()
