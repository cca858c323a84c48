"""Wearing: what bath and time do to the instrument itself."""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument
from scoring.site import SiteValues

CORROSION = assumed(
    "damage for each minute soaked beyond the label's longest time", 0.0005, "1/min", 0.0001, 0.002,
    "a night too long is visible damage; direction from B12 and M25",
)  # fmt: skip
DROWNED = assumed(
    "damage to a device that must not be immersed", 0.8, "1", 0.5, 1.0,
    "motor and battery must be kept dry (R12, M15)",
)  # fmt: skip

CONSTANTS = (CORROSION, DROWNED)


def worn_by_bath(
    damage: Any, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> Any:
    """Return the damage after a soak, 0 to 1."""
    too_long = ops.maximum(handling.minutes - site.cleaner.contact_max, 0.0)
    damage = damage + CORROSION.value * too_long
    if not instrument.immersible:
        damage = damage + ops.where(handling.immersed, DROWNED.value, 0.0)
    return ops.minimum(damage, 1.0)
