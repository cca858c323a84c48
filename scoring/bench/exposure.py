"""Exposure: droplets let loose by the work, and those that met uncovered skin.

Droplets grow with strokes and with the volume flushed. Below the surface only
`SURFACE` of them get loose. A relative count: no source gives a number per stroke. Protective
equipment lowers exposure but does not end it (O4). Strokes away from the body
throw part of the droplets where nobody stands. Vapour of mixed chemicals is
counted with them; it meets eyes and airways, and a mask does not stop it.
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
AWAY = assumed(
    "share of droplets that come towards the body when the strokes go away from it", 0.5, "1",
    0.2, 0.8, "bristles throw where they are going; direction from T8 and M57",
)  # fmt: skip
VAPOUR = assumed(
    "vapour of two mixed chemicals, counted as droplets", 5.0, "1/min", 0.5, 50.0,
    "a relative count, about one stroke above the surface; direction from M10",
)  # fmt: skip
EYES = assumed("share of vapour that meets the eyes", 0.5, "1", 0.2, 0.8, "the rest is breathed in")

CONSTANTS = (STROKE, FLUSH, SURFACE, *PART.values(), THROUGH, AWAY, VAPOUR, EYES)


def droplets_from(amount: Any, per_unit: float, under: Any, ops: Operations) -> Any:
    """Return the droplets let loose by `amount` strokes or mL, a relative count."""
    return amount * per_unit * ops.where(under, SURFACE.value, 1.0)


def exposed(droplets: Any, handling: Handling, ops: Operations) -> Any:
    """Return how many of the droplets meet uncovered eyes, mouth, body or hands."""
    open_share: Any = 0.0
    for name, part in PART.items():
        covered = getattr(handling, name)
        open_share = open_share + part.value * ops.where(covered, THROUGH.value, 1.0)
    return droplets * open_share


def aimed(handling: Handling, ops: Operations) -> Any:
    """Return the share of a brush's droplets that come towards the body, 0 to 1."""
    return ops.where(handling.towards_body, 1.0, AWAY.value)


def vapour(handling: Handling, ops: Operations) -> Any:
    """Return the vapour that a mixed bath gives off, counted as droplets."""
    return VAPOUR.value * ops.where(handling.mixed, handling.minutes, 0.0)


def breathed(vapour: Any, handling: Handling, ops: Operations) -> Any:
    """Return how much of the vapour meets eyes and airways, counted as droplets."""
    covered = ops.where(handling.eyes_covered, THROUGH.value, 1.0)
    return vapour * (1.0 - EYES.value + EYES.value * covered)
