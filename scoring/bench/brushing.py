"""Brushing: soil taken off by each stroke, and what the brush does besides.

``left = exp(-rate(kind of soil) * contact(brush, place) * strokes)``: each
stroke takes the same share of what is still there. Dried soil in a joint whose
inner faces are brushed sets the scale (C5); softened soil comes off faster,
which is why the soak comes first. Fat and mineral come off less when cold. A
lumen brush that does not come out at the far end leaves that part as it was; a
second such brushing starts from what is then in the lumen as a whole. A brush
that was not cleaned moves fresh soil towards its own level (`soiling`).
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.handling import Handling
from scoring.bench.lumen import brush_fit, brushed_share
from scoring.bench.operations import Operations
from scoring.bench.temperature import arrhenius
from scoring.instrument import Place
from scoring.site import SiteValues

STROKE = {
    "fresh": assumed(
        "fresh or softened protein off at each stroke", 1.0, "1/stroke", 0.5, 2.0,
        "calibrated: ten good strokes after a soak must reach the limits of L1",
    ),
    "dried": Constant(
        "dried protein off at each stroke", 0.2837, "1/stroke", 0.15, 0.6,
        "C5: 6.2 % left after two cleanings, taken as 14 strokes in a joint (assumption): "
        "ln(1 / 0.062) / (14 * 0.7)",
        "calculated",
    ),
    "fixed": assumed(
        "fixed protein off at each stroke", 0.05, "1/stroke", 0.01, 0.15,
        "a small part of dried soil's; fixed soil is hard to remove (B14, B17)",
    ),
    "fat": assumed("fat off at each stroke", 0.8, "1/stroke", 0.3, 1.5, "a little below protein"),
    "mineral": assumed("mineral off at each stroke", 0.3, "1/stroke", 0.1, 0.6, "hard but thin"),
    "bone": assumed(
        "bone and cement off at each stroke", 0.6, "1/stroke", 0.2, 1.0,
        "debris is lifted out by friction and by nothing else (T18)",
    ),
}  # fmt: skip
BRUSH = {
    "none": assumed("touch of no brush", 0.0, "1", 0.0, 0.0, "nothing touches"),
    "soft_nylon": assumed("touch of a soft nylon brush", 1.0, "1", 0.9, 1.0, "the scale (T8, B21)"),
    "worn": assumed("touch of a worn brush", 0.3, "1", 0.1, 0.6, "bristles miss the soil (M42)"),
    "metal": assumed("touch of a metal brush", 0.9, "1", 0.5, 1.0, "reaches but scratches (M41)"),
    "household": assumed(
        "touch of a household brush", 0.25, "1", 0.1, 0.5, "thick bristles miss the soil (M42)"
    ),
}  # fmt: skip
TOUCH = {
    kind: assumed(f"touch of a brush on a place: {kind}", touch, "1", low, high, why)
    for kind, touch, low, high, why in (
        ("flat", 1.0, 0.9, 1.0, "the scale"),
        ("serration", 0.8, 0.5, 0.9, "valleys between teeth"),
        ("texture", 0.7, 0.4, 0.9, "holes, cups and edges"),
        ("ratchet", 0.7, 0.4, 0.9, "teeth on a narrow face"),
        ("thread", 0.6, 0.3, 0.8, "valleys all the way round"),
        ("joint", 0.7, 0.5, 0.9, "inner faces, opened; sets the scale of dried soil with C5"),
    )
} | {
    "lumen": Constant(
        "touch of a brush on a place: lumen", 0.48, "1", 0.3, 1.0,
        "C6: brushing takes 3.99 to 0.23 ug/cm2, taken as the six passes of C7 (assumption): "
        "ln(3.99 / 0.23) / 6",
        "calculated",
    )
}  # fmt: skip
OUTSIDE = Constant(
    "touch of a brush on a joint from outside only", 0.25, "1", 0.1, 0.4,
    "C5: 17.7 % left instead of 6.2 % when 37 % of the protein lies in the joint (assumption)",
    "calculated",
)  # fmt: skip
SHUT = {
    "joint": assumed("touch of a brush on a closed joint", 0.05, "1", 0.0, 0.1, "M47"),
    "serration": assumed("touch of a brush on closed jaws", 0.15, "1", 0.05, 0.3, "M27"),
    "ratchet": assumed("touch of a brush on a closed ratchet", 0.3, "1", 0.1, 0.5, "M27"),
}
SCRATCH = assumed(
    "damage by each stroke of a metal brush", 0.01, "1/stroke", 0.001, 0.05,
    "scratches add up over uses; shown at once here so that it is seen (M41)",
)  # fmt: skip

CONSTANTS = (
    *STROKE.values(), *BRUSH.values(), *TOUCH.values(), OUTSIDE, *SHUT.values(), SCRATCH,
)  # fmt: skip

_STROKE, _BRUSH = values(STROKE), values(BRUSH)


def touch(place: Place, handling: Handling, site: SiteValues, ops: Operations) -> Any:
    """Return how well the brush in hand touches a place, 0 to 1."""
    share = TOUCH[place.kind].value
    if place.kind == "joint":
        share = ops.where(handling.inner_joint, share, OUTSIDE.value)
    if place.kind in SHUT:
        share = ops.where(handling.opened, share, SHUT[place.kind].value)
    if place.kind == "lumen":
        share = share * brush_fit(handling.brush_mm, place, site, ops)
    return share * ops.pick(_BRUSH, handling.brush)


def brushed(soil: dict[str, Any], left_by_kind: dict[str, Any]) -> dict[str, Any]:
    """Return the soil of one place after brushing; micrograms by kind, none grows."""
    return {kind: amount * left_by_kind[kind] for kind, amount in soil.items()}


def with_brush_soil(soil: dict[str, Any], left_fresh: Any, level_ug: Any) -> dict[str, Any]:
    """Return the brushed soil of one place with what an uncleaned brush left there.

    Parameters
    ----------
    soil : dict
        After `brushed`, micrograms by kind.
    left_fresh : float or array
        The share of fresh soil that the strokes left, 0 to 1.
    level_ug : float or array
        From `scoring.bench.soiling.brush_level_ug`, micrograms.
    """
    return {**soil, "fresh": soil["fresh"] + level_ug * (1.0 - left_fresh)}


def in_whole_lumen(left_by_kind: dict[str, Any], handling: Handling, ops: Operations) -> Any:
    """Return the shares left in a lumen of which the far part may not be brushed."""
    share = brushed_share(handling, ops)
    return {kind: 1.0 - share * (1.0 - left) for kind, left in left_by_kind.items()}


def left_after_strokes(
    touching: Any, handling: Handling, site: SiteValues, ops: Operations
) -> dict[str, Any]:
    """Return the share of each kind of soil left after the strokes, 0 to 1.

    Parameters
    ----------
    touching : float or array
        From `touch`, 0 to 1.
    handling : Handling
        `strokes` and `temperature_c` count.
    site : SiteValues
        The temperature cap.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict
        By kind of soil.
    """
    strokes = touching * handling.strokes
    cap = site.cleaner.temperature_max_c
    cold = {
        kind: ops.minimum(arrhenius(kind, handling.temperature_c, cap, ops), 1.0)
        for kind in ("fat", "mineral")
    }
    return {kind: ops.exp(-rate * cold.get(kind, 1.0) * strokes) for kind, rate in _STROKE.items()}


def scratched(damage: Any, handling: Handling, ops: Operations) -> Any:
    """Return the damage after brushing, 0 to 1."""
    metal = ops.pick({name: float(name == "metal") for name in _BRUSH}, handling.brush)
    return ops.minimum(damage + SCRATCH.value * metal * handling.strokes, 1.0)


def oil_left(handling: Handling, site: SiteValues, ops: Operations) -> Any:
    """Return the share of an oil film left after the strokes, 0 to 1: as fat on an open joint."""
    open_joint = TOUCH["joint"].value * ops.pick(_BRUSH, handling.brush)
    return left_after_strokes(open_joint, handling, site, ops)["fat"]
