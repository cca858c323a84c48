"""Steaming: which share of a surface the steam of a later steriliser could reach.

A factor for each barrier, multiplied: soil ``exp(-amount / cover)``, oil on a
joint ``exp(-film / cover)``, a closed joint, and the share of a lumen that
still stands full of water. Without a joint the oil lies on the outside. It
decides nothing about sterilisation: it shows why what the sink leaves behind
matters later.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR, Operations
from scoring.bench.state import State
from scoring.bench.wetness import in_lumens, lumen_ml
from scoring.instrument import Instrument

SOIL = assumed(
    "soil that leaves steam about a third of the surface", 60.0, "ug/cm2", 20.0, 300.0,
    "a film that shields (T17); no source gives an amount",
)  # fmt: skip
OIL = assumed(
    "oil on one joint that leaves steam about a third of it", 5.0, "mg", 1.0, 20.0,
    "steam does not pass through oil; direction from T14 and M67",
)  # fmt: skip
CLOSED = assumed(
    "reach of steam inside a closed joint", 0.3, "1", 0.1, 0.6,
    "the faces lie on each other; direction from B2",
)  # fmt: skip
WATER = assumed(
    "reach of steam in the part of a lumen that holds water", 0.1, "1", 0.0, 0.3,
    "water keeps steam and gas out; direction from M69 and M83",
)  # fmt: skip

CONSTANTS = (SOIL, OIL, CLOSED, WATER)


def place_reach(
    name: str, state: State, handling: Handling, instrument: Instrument, ops: Operations = SCALAR
) -> Any:
    """Return the share of one place that steam can reach, 0 to 1.

    Parameters
    ----------
    name : str
        A place of the instrument.
    state : State
        Soil, oil and water count.
    handling : Handling
        `opened` counts.
    instrument : Instrument
        Its places must be those of `state`.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
    """
    place = instrument.places[name]
    reach = ops.exp(-state.total_ug(name) / (place.area_cm2 * SOIL.value))
    joints = sum(other.kind == "joint" for other in instrument.places.values())
    if place.kind == "joint" or (joints == 0 and place.kind != "lumen"):
        reach = reach * ops.exp(-state.oil_mg / (max(joints, 1) * OIL.value))
    if place.kind == "joint":
        reach = reach * ops.where(handling.opened, 1.0, CLOSED.value)
    if place.kind == "lumen":
        full = in_lumens(state.water_ml, instrument, ops) / lumen_ml(instrument)
        reach = reach * (1.0 - full * (1.0 - WATER.value))
    return reach


def worst_reach(
    state: State, handling: Handling, instrument: Instrument, ops: Operations = SCALAR
) -> Any:
    """Return the reach of steam at the place that it reaches least, 0 to 1."""
    worst: Any = 1.0
    for name in instrument.places:
        worst = ops.minimum(worst, place_reach(name, state, handling, instrument, ops))
    return worst
