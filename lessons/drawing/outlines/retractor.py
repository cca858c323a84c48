"""A self-holding retractor: arms with prongs, a hinge, a toothed bar and its release lever."""

from __future__ import annotations

import math

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, Spot, spot
from lessons.drawing.outlines.ring_handled import ring
from lessons.drawing.steel import EDGE, SHADE, bar, light, pin, placed, plate

_HINGE = (318.0, 156.0)
"""Where the arms turn. They do not cross: rings together means prongs apart."""
OPEN_DEGREES = 12.0
"""Turn of each arm when the prongs are apart."""
_BAR_AT, _BAR_OFF = 158.0, -56.0
"""Where the toothed bar meets the arms, from the hinge."""
_RADIUS = math.hypot(_BAR_AT, _BAR_OFF)
"""Radius of the toothed bar about the hinge."""
_BAR_DEGREES = 62.0
"""How far the toothed bar reaches about the hinge: past its catch in both poses."""


def retractor(opened: bool) -> Outline:
    """Return the retractor, prongs apart or together."""
    degrees = OPEN_DEGREES if opened else 0.0
    upper = Pose(*_HINGE, degrees)
    lower = Pose(*_HINGE, -degrees, mirrored=True)
    prongs = ((-270.0, -19.0), (-190.0, -19.0))
    front = ((-166.0, -12.0), (-110.0, -11.5), (-60.0, -8.0))
    rear = ((40.0, -11.0), (90.0, -25.0), (128.0, -43.0))
    foot, top = _bar_angles(lower)
    toothed = Region(
        tuple(_about_hinge(foot + (top - foot) * step / 8, _RADIUS) for step in range(9)), 5.0
    )
    regions: dict[str, tuple[Region, ...]] = {
        "prongs_left": (region(lower, prongs, 11.0),),
        "prongs_right": (region(upper, prongs, 11.0),),
        "hinge": (Region(((_HINGE[0] - 12, _HINGE[1]), (_HINGE[0] + 12, _HINGE[1])), 13.0),),
        "ratchet_bar": (toothed,),
        "arm_left": (region(lower, front, 5.5), region(lower, rear, 5.5)),
        "arm_right": (region(upper, front, 5.5), region(upper, rear, 5.5)),
        "release": (region(upper, ((196.0, -84.0), (226.0, -104.0)), 6.0),),
    }
    return Outline(
        steel=(
            placed(_arm(), lower.transform())
            + placed(_arm(), upper.transform())
            + _bar(foot, top)
            + placed(_release(), upper.transform())
        ),
        over=pin(*_HINGE, 10),
        regions=regions,
        spots=(
            spot("prongs_left", lower, -232, -20, 26.0),
            spot("prongs_right", upper, -232, -20, 26.0),
            Spot("hinge", *_HINGE, 24.0),
            spot("ratchet_bar", Pose(*_about_hinge(top + 8, _RADIUS)), 0, 0, 22.0),
            spot("arm_left", lower, -110, -13, 22.0),
            spot("arm_right", upper, -110, -13, 22.0),
            spot("release", upper, 216, -98, 22.0),
        ),
        wet=(*regions["arm_left"], *regions["arm_right"]),
        joints=(_HINGE,),
    )


def _bar_angles(lower: Pose) -> tuple[float, float]:
    """Return where the toothed bar starts and ends about the hinge, degrees clockwise."""
    x, y = lower.at(_BAR_AT, _BAR_OFF)
    foot = math.degrees(math.atan2(y - _HINGE[1], x - _HINGE[0]))
    return foot, foot - _BAR_DEGREES


def _about_hinge(degrees: float, r: float) -> tuple[float, float]:
    turn = math.radians(degrees)
    return _HINGE[0] + r * math.cos(turn), _HINGE[1] + r * math.sin(turn)


def _arm() -> str:
    """Return the upper arm: prongs at its front end, a bow behind the hinge, a ring."""
    prongs = "".join(
        bar(f"M{x} -14C{x - 4} -26 {x - 10} -34 {x - 18} -40", 6) for x in (-264, -238, -212, -186)
    )
    spine = bar("M-268 -13L-160 -12C-100 -12 -60 -16 0 0", 13)
    rear = bar("M0 0C40 -12 90 -26 132 -46S190 -74 214 -74", 14)
    return ring(240, -80, 28, 24) + rear + prongs + spine


def _bar(foot: float, top: float) -> str:
    """Return the toothed bar: an arc about the hinge, so that it slides through its catch."""
    inner, outer = _RADIUS - 5, _RADIUS + 5
    (ax, ay), (bx, by) = _about_hinge(foot, inner), _about_hinge(top, inner)
    (cx, cy), (dx, dy) = _about_hinge(top, outer), _about_hinge(foot, outer)
    teeth = ""
    for step in range(int(_BAR_DEGREES / 3.0) - 2):
        degrees = top + 3.0 * (step + 1)
        points = (
            _about_hinge(degrees, outer),
            _about_hinge(degrees, outer + 5),
            _about_hinge(degrees + 2.6, outer),
        )
        teeth += "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"
    (ex, ey), (fx, fy) = _about_hinge(foot - 2, _RADIUS - 1), _about_hinge(top + 2, _RADIUS - 1)
    px, py = _about_hinge(foot, _RADIUS)
    return (
        plate(teeth, fill=SHADE)
        + plate(
            f"M{ax:.1f} {ay:.1f}A{inner:.1f} {inner:.1f} 0 0 0 {bx:.1f} {by:.1f}"
            f"L{cx:.1f} {cy:.1f}A{outer:.1f} {outer:.1f} 0 0 1 {dx:.1f} {dy:.1f}Z"
        )
        + light(f"M{ex:.1f} {ey:.1f}A{_RADIUS:.1f} {_RADIUS:.1f} 0 0 0 {fx:.1f} {fy:.1f}")
        + pin(round(px, 1), round(py, 1), 5)
    )


def _release() -> str:
    """Return the thumb lever that lifts the catch out of the teeth."""
    return (
        plate("M148 -74L178 -72L178 -50L148 -48Z", fill=SHADE)
        + bar("M172 -68C188 -76 206 -92 228 -106", 8)
        + f'<circle cx="230" cy="-107" r="7" fill="{SHADE}" stroke="{EDGE}" stroke-width="1.6"/>'
    )
