"""Wearing: what bath, salt, weight, force and water inside do to the instrument itself.

Damage by time or strokes adds up. What is bent is bent once: there the larger
damage counts. Water inside harms by ``drowned * (1 - exp(-mL / scale))``, so it
does not matter in how many portions it came in.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.lumen import over_pressure
from scoring.bench.operations import Operations
from scoring.bench.state import State
from scoring.instrument import Instrument
from scoring.site import SiteValues

CORROSION = assumed(
    "damage for each minute soaked beyond the label's longest time", 0.0005, "1/min", 0.0001, 0.002,
    "a night too long is visible damage; direction from B12 and M25",
)  # fmt: skip
PITTING = assumed(
    "damage for each minute under saline", 0.0005, "1/min", 0.0001, 0.002,
    "saline makes small pits in the metal (B12, M02); shown sooner here so that it is seen",
)  # fmt: skip
DROWNED = assumed(
    "damage to a device that must not be immersed", 0.8, "1", 0.5, 1.0,
    "motor and battery must be kept dry (R12, M15)",
)  # fmt: skip
FULL = assumed(
    "water that gets into a device that is immersed", 20.0, "mL", 5.0, 100.0,
    "it fills what is hollow; direction from M15 and M54",
)  # fmt: skip
WET = assumed(
    "water inside that does about two thirds of the damage", 2.0, "mL", 0.5, 10.0,
    "a little is enough for a motor or a battery (R12)",
)  # fmt: skip
TAP = assumed(
    "water let in at each rinse by openings not closed, device not immersed", 2.0, "mL/rinse",
    0.5, 10.0, "held under the tap, water runs in (M54)",
)  # fmt: skip
BENT = assumed(
    "damage to a delicate instrument with heavy things on it", 0.5, "1", 0.2, 1.0,
    "tips bend, and they bend for good (M35)",
)  # fmt: skip
UNHELD = assumed(
    "damage by each stroke on a delicate part that is not held", 0.02, "1/stroke", 0.005, 0.1,
    "tips bend; shown at once here so that it is seen (T18, M49)",
)  # fmt: skip
HARSH = assumed(
    "damage by each stroke of a metal or household brush on a delicate part", 0.02, "1/stroke",
    0.005, 0.1, "hard or thick bristles bend fine tips (T18, M49)",
)  # fmt: skip
BURST = assumed(
    "damage for each whole limit of pressure above the limit", 0.5, "1", 0.1, 1.0,
    "glue and thin walls give way; direction from B20 and M51",
)  # fmt: skip

CONSTANTS = (CORROSION, PITTING, DROWNED, FULL, WET, TAP, BENT, UNHELD, HARSH, BURST)

_HARSH = {"none": 0.0, "soft_nylon": 0.0, "worn": 0.0, "metal": 1.0, "household": 1.0}
_BRUSHES = {"none": 0.0, "soft_nylon": 1.0, "worn": 1.0, "metal": 1.0, "household": 1.0}


def worn_by_bath(
    damage: Any, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> Any:
    """Return the damage after a soak, 0 to 1; water inside is `let_in`'s."""
    too_long = ops.maximum(handling.minutes - site.cleaner.contact_max, 0.0)
    damage = damage + CORROSION.value * too_long
    if instrument.delicate:
        damage = ops.maximum(damage, ops.where(handling.heavy_on_top, BENT.value, 0.0))
    return ops.minimum(damage, 1.0)


def pitted(damage: Any, handling: Handling, ops: Operations) -> Any:
    """Return the damage after waiting under saline, 0 to 1."""
    return ops.minimum(
        damage + ops.where(handling.saline, PITTING.value, 0.0) * handling.minutes, 1.0
    )


def bent_by_strokes(
    damage: Any, handling: Handling, instrument: Instrument, ops: Operations
) -> Any:
    """Return the damage after brushing a delicate instrument, 0 to 1."""
    if not instrument.delicate:
        return damage
    brushed = ops.pick(_BRUSHES, handling.brush) * ops.where(handling.supported, 0.0, UNHELD.value)
    harsh = ops.pick(_HARSH, handling.brush) * HARSH.value
    return ops.minimum(damage + (brushed + harsh) * handling.strokes, 1.0)


def burst(damage: Any, handling: Handling, instrument: Instrument, ops: Operations) -> Any:
    """Return the damage after a flush, 0 to 1: above the pressure that a lumen may have."""
    for place in instrument.places.values():
        over = over_pressure(place, handling, ops)
        flushed = ops.where(handling.flush_ml > 0, BURST.value, 0.0)
        damage = ops.maximum(damage, ops.minimum(over * flushed, 1.0))
    return damage


def let_in(state: State, more_ml: Any, instrument: Instrument, ops: Operations) -> State:
    """Return the state with more water inside a device that must stay dry, and the damage.

    An instrument that may be immersed is not changed. More than `FULL` does not go in.
    """
    if instrument.immersible:
        return state
    before = state.inside_ml
    inside = ops.maximum(before, ops.minimum(before + more_ml, FULL.value))
    harm = ops.exp(-before / WET.value) - ops.exp(-inside / WET.value)
    return state.changed(
        inside_ml=inside, damage=ops.minimum(state.damage + DROWNED.value * harm, 1.0)
    )
