"""Drying: fresh protein turns into dried, and in very long drying into fixed.

First order in time: ``F' = -d F``, ``D' = d F - a D``, ``X' = a D``, with d the
drying rate and a the rate of firm attachment. Solved exactly, so it does not
matter how the time is cut into pieces.

Published findings disagree: sheep blood was hardest to remove after 1 to 2 h,
coagulated and not yet dry (B8); tissue soil attached more the longer it dried,
and moist holding cut that (B9); after extended drying only an alkaline cleaner
restored solubility, in 15 min as well as in 60 (B7). One curve cannot be all
three. This one follows B9, because it is the only one that also says what
keeping moist does; B7 enters through the alkaline cleaner in `chemistry`.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.operations import Operations, mean_decay

DRYING = assumed(
    "drying rate in room air", 0.02, "1/min", 0.008, 0.05,
    "half dried in 35 min and nearly all in 3 h, so that the 1 to 2 h of B8 and B9 matter",
)  # fmt: skip
ATTACHING = assumed(
    "firm attachment of dried protein", 2e-5, "1/min", 5e-6, 1e-4,
    "one to two in a hundred overnight, more over a weekend; direction from B9 and B12",
)  # fmt: skip
MOIST = assumed(
    "drying when kept moist, as a share of drying in air", 0.05, "1", 0.01, 0.2,
    "keeping moist slows drying greatly but not wholly; direction from B9 and T11",
)  # fmt: skip

CONSTANTS = (DRYING, ATTACHING, MOIST)


def dried_on(soil: dict[str, Any], minutes: Any, moist: Any, ops: Operations) -> dict[str, Any]:
    """Return the soil of one place after waiting.

    Parameters
    ----------
    soil : dict
        Micrograms by kind.
    minutes : float or array
        Waiting time, minutes, at least 0.
    moist : bool or array
        Whether the instrument is kept moist.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict
        Micrograms by kind; the sum is unchanged.
    """
    slower = ops.where(moist, MOIST.value, 1.0)
    drying, attaching = DRYING.value * slower, ATTACHING.value * slower
    fresh = soil["fresh"] * ops.exp(-drying * minutes)
    stays = ops.exp(-attaching * minutes)
    arriving = minutes * mean_decay((drying - attaching) * minutes, ops)
    dried = stays * (soil["dried"] + drying * soil["fresh"] * arriving)
    before = soil["fresh"] + soil["dried"] + soil["fixed"]
    fixed = ops.maximum(before - fresh - dried, soil["fixed"])
    return {**soil, "fresh": fresh, "dried": dried, "fixed": fixed}
