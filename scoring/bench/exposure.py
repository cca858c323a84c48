"""Exposure: droplets thrown above the surface, and those that met uncovered skin.

Droplets grow with strokes and with the volume flushed, and only above the
surface. A relative count: no source gives a number per stroke. Protective
equipment lowers exposure but does not end it (O4).
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations

STROKE = assumed(
    "droplets by each stroke above the surface", 5.0, "1/stroke", 1.0, 20.0,
    "a relative count; direction from T8, B21 and O4",
)  # fmt: skip
FLUSH = assumed(
    "droplets by each mL flushed above the surface", 0.5, "1/mL", 0.1, 2.0,
    "a relative count; direction from T9",
)  # fmt: skip
SURFACE = assumed(
    "droplets below the surface, as a share of above it", 0.02, "1", 0.0, 0.1,
    "the surface still moves",
)  # fmt: skip
PART = {
    name: assumed(f"share of droplets aimed at: {label}", share, "1", low, high, why)
    for name, label, share, low, high, why in (
        ("eyes_covered", "eyes", 0.3, 0.1, 0.4, "the face is over the sink"),
        ("mask_on", "nose and mouth", 0.2, 0.1, 0.4, "the face is over the sink"),
        ("gown_on", "body", 0.3, 0.2, 0.5, "the body is nearest"),
        ("gloves_thick", "hands and wrists", 0.2, 0.1, 0.4, "the hands are in it"),
    )
}
THROUGH = assumed(
    "droplets that pass protective equipment", 0.05, "1", 0.01, 0.2,
    "equipment did not fully prevent exposure of skin (O4); the share is not given",
)  # fmt: skip

CONSTANTS = (STROKE, FLUSH, SURFACE, *PART.values(), THROUGH)


def droplets_from(amount: Any, per_unit: float, under: Any, ops: Operations) -> Any:
    """Return the droplets thrown by `amount` strokes or mL, a relative count."""
    return amount * per_unit * ops.where(under, SURFACE.value, 1.0)


def exposed(droplets: Any, handling: Handling, ops: Operations) -> Any:
    """Return how many of the droplets meet uncovered eyes, mouth, body or hands."""
    open_share: Any = 0.0
    for name, part in PART.items():
        covered = getattr(handling, name)
        open_share = open_share + part.value * ops.where(covered, THROUGH.value, 1.0)
    return droplets * open_share
