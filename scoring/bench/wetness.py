"""Water: what stays on and in an instrument, and what drying takes off.

Water that hangs in a lumen leaves last: of ``w`` mL, ``min(w, volume of the
lumens)`` stands in them. A cloth takes its share of the rest, air takes its
share of both. What the water held in solution stays behind either way.
"""

from __future__ import annotations

import math
from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument

CLOTH = assumed(
    "water left outside by a lint-free cloth, as a share", 0.05, "1", 0.02, 0.2,
    "a cloth does not get into gaps; direction from M69",
)  # fmt: skip
AIR = assumed(
    "water left in a lumen by medical air, as a share", 0.02, "1", 0.0, 0.1,
    "until nothing comes out; direction from M83",
)  # fmt: skip

CONSTANTS = (CLOTH, AIR)


def lumen_ml(instrument: Instrument) -> float:
    """Return the water that the lumens can hold, mL, at most all that is carried over."""
    volume = sum(
        math.pi / 4.0 * place.bore_mm**2 * place.length_mm / 1000.0
        for place in instrument.places.values()
        if place.bore_mm is not None and place.length_mm is not None
    )
    return min(volume, instrument.carried_ml)


def in_lumens(water_ml: Any, instrument: Instrument, ops: Operations) -> Any:
    """Return how much of the water stands in lumens, mL."""
    return ops.minimum(water_ml, lumen_ml(instrument))


def flushed_in(water_ml: Any, handling: Handling, instrument: Instrument, ops: Operations) -> Any:
    """Return the water after a flush, mL: the lumens are full of it."""
    return ops.maximum(water_ml, ops.minimum(handling.flush_ml, lumen_ml(instrument)))


def dried_off(water_ml: Any, handling: Handling, instrument: Instrument, ops: Operations) -> Any:
    """Return the water left after drying, mL, never more than before."""
    inside = in_lumens(water_ml, instrument, ops)
    outside = ops.pick({"none": 1.0, "cloth": CLOTH.value, "air": CLOTH.value}, handling.dry_way)
    through = ops.pick({"none": 1.0, "cloth": 1.0, "air": AIR.value}, handling.dry_way)
    return (water_ml - inside) * outside + inside * through
