"""Lubricating: what is put on the joints, and what takes it off again.

A water-soluble lubricant leaves with each rinse, ``left = exp(-off * rinses)``,
and a minute in the bath counts as a rinse (assumption). Mineral oil stays in
the rinse; a cleaner and a brush take it off as they take off fat.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument

OFF = assumed(
    "water-soluble lubricant off with each rinse", 2.0, "1/rinse", 0.5, 5.0,
    "it dissolves; one rinse takes most of it; direction from T14 and M82",
)  # fmt: skip
OIL = assumed(
    "mineral oil left on each joint", 15.0, "mg", 5.0, 50.0, "about half a drop; direction from M67"
)

CONSTANTS = (OFF, OIL)


def oiled(oil_mg: Any, handling: Handling, instrument: Instrument, ops: Operations) -> Any:
    """Return the film of oil after lubricating, mg. More oil on the same joint runs off."""
    joints = sum(place.kind == "joint" for place in instrument.places.values())
    film = OIL.value * max(joints, 1)
    put_on = ops.pick({"none": 0.0, "water_soluble": 0.0, "oil": film}, handling.lubricant)
    return ops.maximum(oil_mg, put_on)


def lubricated(before: Any, handling: Handling, ops: Operations) -> Any:
    """Return how freely the joints move after lubricating, 0 to 1."""
    put_on = ops.pick({"none": 0.0, "water_soluble": 1.0, "oil": 1.0}, handling.lubricant)
    return ops.maximum(before, put_on)


def rinsed_off(lubricated: Any, oil_mg: Any, rinses: Any, ops: Operations) -> Any:
    """Return how freely the joints move after rinses, 0 to 1; oil is not rinsed off."""
    return ops.where(oil_mg > 0, lubricated, lubricated * ops.exp(-OFF.value * rinses))
