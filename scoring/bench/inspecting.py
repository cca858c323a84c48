"""Inspecting: the chance of seeing soil. It changes nothing on the instrument.

``p = 1 - exp(-see * amount * sqrt(lux / 300) * magnification)``. The unaided eye
under ordinary light found at most about 11 % of what a microscope found (E4);
the amount that this stands for is an assumption.

That is for a face that lies open to the eye. Teeth, threads and joints hide a part of what
is on them, and the inside of a lumen can be seen with a borescope, or poorly by light from
its far end: there a share of the amount counts. A borescope brings its own lamp and lens.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR, Operations
from scoring.instrument import Place

AMOUNT = assumed(
    "soil that the unaided eye mostly misses", 5.0, "ug/cm2", 1.0, 20.0,
    "a little above the limits of L1; E4 does not give amounts",
)  # fmt: skip
SEEN = Constant(
    "chance that the unaided eye sees it", 0.11, "1", 0.05, 0.2, "E4, at most about 11 %", "read"
)
LIGHT = assumed("ordinary light", 300.0, "lux", 200.0, 500.0, "below the 500 to 1000 lux of R6")
BRIGHT = assumed(
    "light above which more does not help", 2000.0, "lux", 1000.0, 3000.0,
    "top of the range for detailed inspection (R6); glare beyond",
)  # fmt: skip
LENS = assumed(
    "magnification above which more does not help", 10.0, "x", 4.0, 20.0,
    "a hand lens or stand magnifier; beyond, the field is too small",
)  # fmt: skip
OPEN_TO_VIEW = {
    kind: assumed(f"share of the soil that lies open to view: {kind}", share, "1", low, high, why)
    for kind, share, low, high, why in (
        ("flat", 1.0, 0.9, 1.0, "the scale"),
        ("serration", 0.7, 0.4, 0.9, "the valleys lie in shadow"),
        ("texture", 0.8, 0.5, 1.0, "edges and holes lie in shadow"),
        ("ratchet", 0.7, 0.4, 0.9, "the teeth lie in shadow"),
        ("thread", 0.6, 0.3, 0.9, "one side at a time"),
        ("joint", 0.5, 0.2, 0.8, "opened, the inner faces are seen at a slant"),
        ("lumen", 0.02, 0.0, 0.1, "by light from the far end only the mouth is seen (M86)"),
    )
}
SHUT_TO_VIEW = {
    "joint": assumed("share open to view in a closed joint", 0.05, "1", 0.0, 0.2, "M27"),
    "serration": assumed("share open to view between closed jaws", 0.1, "1", 0.0, 0.3, "M27"),
    "ratchet": assumed("share open to view in a closed ratchet", 0.2, "1", 0.0, 0.4, "M27"),
}
SCOPE = assumed(
    "share of the soil in a lumen that a borescope shows", 0.8, "1", 0.5, 1.0,
    "C12 found debris or discoloration in every lumen looked at; direction only",
)  # fmt: skip
SCOPE_LIGHT = assumed(
    "light of a borescope on the wall", 1000.0, "lux", 300.0, 2000.0,
    "close to the wall with its own lamp; taken as the light for details (R6)",
)  # fmt: skip
SCOPE_LENS = assumed(
    "magnification of a borescope", 8.0, "x", 4.0, 20.0, "a small field on a screen"
)

CONSTANTS = (
    AMOUNT, SEEN, LIGHT, BRIGHT, LENS, *OPEN_TO_VIEW.values(), *SHUT_TO_VIEW.values(), SCOPE,
    SCOPE_LIGHT, SCOPE_LENS,
)  # fmt: skip

_OPEN, _SHUT = values(OPEN_TO_VIEW), values(SHUT_TO_VIEW)


def chance_of_seeing(
    ug_per_cm2: Any, light_lux: Any, magnification: Any, ops: Operations = SCALAR
) -> Any:
    """Return the chance that soil is seen, 0 to 1.

    Parameters
    ----------
    ug_per_cm2 : float or array
        Soil on the place, at least 0.
    light_lux : float or array
        Light on the inspection place, lux.
    magnification : float or array
        1 for the unaided eye.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        Rising in each of the three.
    """
    scale = -ops.log(1.0 - SEEN.value) / AMOUNT.value
    light = ops.minimum(light_lux, BRIGHT.value) / LIGHT.value
    lens = ops.minimum(magnification, LENS.value)
    return -ops.expm1(-scale * ug_per_cm2 * light**0.5 * lens)


def chance_on(place: Place, ug_per_cm2: Any, handling: Handling, ops: Operations = SCALAR) -> Any:
    """Return the chance that soil on this place is seen as the handling looks at it, 0 to 1.

    Parameters
    ----------
    place : Place
        Its kind decides how much of the soil lies open to view.
    ug_per_cm2 : float or array
        Soil on the place, at least 0.
    handling : Handling
        `light_lux`, `magnification`, `opened` and `borescope` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        Never above `chance_of_seeing` of the same soil lying open, but for a borescope.
    """
    share: Any = _OPEN[place.kind]
    if place.kind in _SHUT:
        share = ops.where(handling.opened, share, _SHUT[place.kind])
    seen = chance_of_seeing(ug_per_cm2 * share, handling.light_lux, handling.magnification, ops)
    if place.kind != "lumen":
        return seen
    inside = chance_of_seeing(ug_per_cm2 * SCOPE.value, SCOPE_LIGHT.value, SCOPE_LENS.value, ops)
    return ops.where(handling.borescope, ops.maximum(inside, seen), seen)
