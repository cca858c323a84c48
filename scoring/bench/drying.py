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
`hardness_by_finding` draws all three, each in its own shape, so that nobody
takes this one for the only one.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed
from scoring.bench.operations import SCALAR, Operations, mean_decay

DRYING = assumed(
    "drying rate in room air", 0.02, "1/min", 0.008, 0.05,
    "half dried in 35 min and nearly all in 3 h, so that the 1 to 2 h of B8 and B9 matter",
)  # fmt: skip
ATTACHING = assumed(
    "firm attachment of dried protein", 2e-5, "1/min", 5e-6, 1e-4,
    "one to two in a hundred overnight, more over a weekend; direction from B9 and B12",
)  # fmt: skip
PEAK = Constant(
    "time at which blood is hardest to remove, as one finding has it", 90.0, "min", 60.0, 120.0,
    "B8, middle of 1 to 2 h", "calculated",
)  # fmt: skip
LATE = assumed(
    "hardness of fully dried blood, as a share of its hardest, as that finding has it", 0.5, "1",
    0.2, 0.9, "below the hardest (B8); the share is not in its abstract",
)  # fmt: skip
EXTENDED = assumed(
    "drying after which about two thirds needs an alkaline cleaner, as one finding has it",
    2880.0, "min", 1440.0, 10080.0, "B7 says extended; how long is not in its abstract",
)  # fmt: skip
SALINE = Constant("salt in saline", 9.0, "mg/mL", 8.5, 9.5, "isotonic saline holds 0.9 %", "memory")
MOIST = assumed(
    "drying when kept moist, as a share of drying in air", 0.05, "1", 0.01, 0.2,
    "keeping moist slows drying greatly but not wholly; direction from B9 and T11",
)  # fmt: skip

CONSTANTS = (DRYING, ATTACHING, MOIST, SALINE, PEAK, LATE, EXTENDED)


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


def hardness_by_finding(minutes: Any, ops: Operations = SCALAR) -> dict[str, Any]:
    """Return how hard dried blood is to remove after a time in air, by published finding.

    Each is a share of that finding's own hardest, so the curves show shapes and
    cannot be compared in height. The shapes between the published times are
    assumptions of this bench.

    Parameters
    ----------
    minutes : float or array
        Time in air, minutes, at least 0.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict
        By id of the fact: ``B7`` (the share that only an alkaline cleaner takes
        off rises with long drying), ``B8`` (hardest after 1 to 2 h, less when
        dry) and ``B9`` (the longer, the harder; the one that the bench follows).
        Each 0 to 1.
    """
    of_peak = minutes / PEAK.value
    rising = of_peak * ops.exp(1.0 - of_peak)
    return {
        "B7": -ops.expm1(-minutes / EXTENDED.value),
        "B8": ops.maximum(rising, ops.where(minutes > PEAK.value, LATE.value, 0.0)),
        "B9": -ops.expm1(-DRYING.value * minutes),
    }


def saline_salts_mg(carried_ml: float) -> float:
    """Return the salt that a film of saline leaves, mg."""
    return carried_ml * SALINE.value
