"""The first answer of each person to each decision: the table that the study of items reads.

Different people sit different forms, so most tables have cells missing by design.
A mean over what a person met would then mix how able the person is with how hard the
forms were; here the second part is taken out before people are compared.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]
from scipy.sparse import coo_array  # type: ignore[import-untyped]
from scipy.sparse.linalg import lsqr  # type: ignore[import-untyped]

from scoring.cohort.table import CohortTable
from scoring.model import Station

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StationAnswers:
    """First answers at one station.

    Attributes
    ----------
    station : Station
    credit : DataFrame, persons x items
        Credit 0 to 1, NaN where not met; items are ``scenario/decision``, both sorted.
    reason : DataFrame, persons x items
        What was answered, as the mark's code; None where not met.
    site : tuple of str
        Site of each person: the one of the first sitting.
    critical : frozenset of str
        Items that are critical decisions.
    """

    station: Station
    credit: pd.DataFrame
    reason: pd.DataFrame
    site: tuple[str, ...]
    critical: frozenset[str]

    @property
    def right(self) -> pd.DataFrame:
        """Right (1) or wrong (0): full credit or less; NaN where not met."""
        return (self.credit >= 1).astype(float).where(self.credit.notna())


def first_answers(table: CohortTable) -> tuple[StationAnswers, ...]:
    """Return the first answers of everybody, by station in the order of the work.

    Decisions without an answer are left out: they tell of time, not of the item. So are
    answers after a hint, which is paid for with credit.
    """
    rows = table.decisions()
    rows = rows[rows["assessed"] & ~rows["hinted"]]
    order = table.sittings["started"].rank(method="first").to_numpy()
    rows = rows.assign(
        item=rows["scenario"].astype(str) + "/" + rows["decision"].astype(str),
        order=order[rows["at"].to_numpy(dtype=int)] if len(rows) else [],
    ).sort_values("order", kind="stable")
    home = table.sittings.sort_values("started").groupby("operator")["site"].first()
    first = rows.drop_duplicates(["operator", "item"], keep="first")
    found = []
    for station in table.stations_met():
        mine = first[first["station"] == station]
        if mine.empty:
            continue
        credit = mine.pivot(index="operator", columns="item", values="credit").sort_index()
        reason = mine.pivot(index="operator", columns="item", values="reason").sort_index()
        found.append(
            StationAnswers(
                station=station,
                credit=credit.astype(float),
                reason=reason.astype(object).where(credit.notna(), None),
                site=tuple(str(home[name]) for name in credit.index),
                critical=frozenset(mine[mine["critical"]]["item"]),
            )
        )
    return tuple(found)


def levelled(credit: pd.DataFrame) -> pd.DataFrame:
    """Return credits less how easy each item is, brought to 0 to 1 by one common scale.

    ``credit = person + item`` is fitted by least squares; the item's part is taken off.
    A person's mean over the items met is then not moved by which forms these were. The
    correlations of an item are those of its credits, since only a constant is taken off.

    Parameters
    ----------
    credit : DataFrame, persons x items
        Credits from 0 to 1, NaN where not met.
    """
    values = credit.to_numpy(dtype=float)
    person, item = np.nonzero(~np.isnan(values))
    if not len(person):
        return credit
    met = values[person, item]
    cells = np.arange(len(met))
    people, items = values.shape
    design = coo_array(
        (
            np.ones(2 * len(met)),
            (np.concatenate([cells, cells]), np.concatenate([person, people + item])),
        ),
        shape=(len(met), people + items),
    ).tocsr()
    # The least solution of all that fit: linked groups of forms each keep their own level.
    fitted = lsqr(design, met - met.mean(), atol=1e-12, btol=1e-12)[0]
    left = values - fitted[people:][None, :]
    low, high = float(np.nanmin(left)), float(np.nanmax(left))
    scaled = (left - low) / (high - low) if high - low > 1e-9 else left * 0.0 + 0.5
    return pd.DataFrame(np.clip(scaled, 0.0, 1.0), index=credit.index, columns=credit.columns)
