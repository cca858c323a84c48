"""Which operators the models are fitted to: all, or of very many a random sample."""

from __future__ import annotations

import numpy as np
import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable

MOST_FITTED = 3_000
"""Operators up to whom the models of right and wrong decisions are fitted to everybody. A sample
of so many settles a spread to about 3 %; counts, shares, charts and the funnel always use
everybody. A working judgement, no source."""

SEED = 20_250_101
"""Start of the random numbers, fixed so that the same records give the same page. Arbitrary."""


def fitted_rows(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of the operators whom the models are fitted to.

    Parameters
    ----------
    rows : DataFrame
        With a column ``operator`` of categories, as
        :func:`scoring.cohort.answer_cells.handed_in` gives for the whole cohort.
    """
    operators = rows["operator"].cat
    names = operators.categories
    if len(names) <= MOST_FITTED:
        return rows
    drawn = np.random.default_rng(SEED).permutation(len(names))[:MOST_FITTED]
    return rows[np.isin(operators.codes.to_numpy(), drawn)]


def sample_said(table: CohortTable) -> str:
    """Return the sentence on a sample; empty where everybody is fitted."""
    everybody = len(table.answered["operator"].cat.categories)
    if everybody <= MOST_FITTED:
        return ""
    return (
        f"With {everybody:,} operators, the models of right and wrong decisions are fitted to "
        f"{MOST_FITTED:,} of them, drawn at random. Counts, scores, measures and the funnel use "
        "everybody."
    )
