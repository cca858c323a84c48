"""A self-holding retractor: arms with prongs, a hinge, a toothed bar and its release lever."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, Spot, spot
from lessons.drawing.outlines.ring_handled import ring
from lessons.drawing.steel import EDGE, SHADE, bar, light, line, pin, placed, plate

_HINGE = (318.0, 156.0)
"""Where the arms turn. They do not cross: rings together means prongs apart."""
OPEN_DEGREES = 12.0
"""Turn of each arm when the prongs are apart."""
_BAR_AT = 158.0
"""Where the toothed bar meets the arms, from the hinge."""


def retractor(opened: bool) -> Outline:
    """Return the retractor, prongs apart or together."""
    degrees = OPEN_DEGREES if opened else 0.0
    upper = Pose(*_HINGE, degrees)
    lower = Pose(*_HINGE, -degrees, mirrored=True)
    prongs = ((-268.0, -16.0), (-196.0, -18.0))
    arm = ((-160.0, -13.0), (-70.0, -14.0), (70.0, -27.0), (128.0, -46.0))
    bar_top, bar_foot = _bar_ends(upper, lower)
    toothed = Region((bar_top, bar_foot), 5.0)
    regions: dict[str, tuple[Region, ...]] = {
        "prongs_left": (region(lower, prongs, 14.0),),
        "prongs_right": (region(upper, prongs, 14.0),),
        "hinge": (Region(((_HINGE[0] - 12, _HINGE[1]), (_HINGE[0] + 12, _HINGE[1])), 13.0),),
        "ratchet_bar": (toothed,),
        "arm_left": (region(lower, arm, 7.0),),
        "arm_right": (region(upper, arm, 7.0),),
        "release": (region(upper, ((196.0, -84.0), (226.0, -104.0)), 6.0),),
    }
    return Outline(
        steel=(
            placed(_arm(), lower.transform())
            + placed(_arm(), upper.transform())
            + _bar(bar_top, bar_foot)
            + placed(_release(), upper.transform())
        ),
        over=pin(*_HINGE, 10),
        regions=regions,
        spots=(
            spot("prongs_left", lower, -232, -20, 26.0),
            spot("prongs_right", upper, -232, -20, 26.0),
            Spot("hinge", *_HINGE, 24.0),
            Spot("ratchet_bar", round(bar_top[0], 1), round(bar_top[1] + 8, 1), 22.0),
            spot("arm_left", lower, -110, -13, 22.0),
            spot("arm_right", upper, -110, -13, 22.0),
            spot("release", upper, 216, -98, 22.0),
        ),
        wet=(*regions["arm_left"], *regions["arm_right"]),
        joints=(_HINGE,),
    )


def _bar_ends(upper: Pose, lower: Pose) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ends of the toothed bar: fixed in the lower arm, free above the upper one."""
    foot = lower.at(_BAR_AT, -56)
    return (foot[0], foot[1] - 146.0), foot


def _arm() -> str:
    """Return the upper arm: prongs at its front end, a bow behind the hinge, a ring."""
    prongs = "".join(
        bar(f"M{x} -14C{x - 4} -26 {x - 10} -34 {x - 18} -40", 6) for x in (-264, -238, -212, -186)
    )
    spine = bar("M-268 -13L-160 -12C-100 -12 -60 -16 0 0", 13)
    rear = bar("M0 0C40 -12 90 -26 132 -46S190 -74 214 -74", 14)
    return ring(240, -80, 28, 24) + rear + prongs + spine


def _bar(top: tuple[float, float], foot: tuple[float, float]) -> str:
    x, y0, y1 = top[0], top[1], foot[1]
    teeth = "".join("l5 3l-5 3.4" for _ in range(int((y1 - y0 - 16) / 6.4)))
    return (
        plate(
            f"M{x - 6:.1f} {y0:.1f}L{x + 5:.1f} {y0:.1f}L{x + 5:.1f} {y1:.1f}L{x - 6:.1f} {y1:.1f}Z"
        )
        + line(f"M{x + 5:.1f} {y0 + 4:.1f}{teeth}", width=1.5)
        + light(f"M{x - 2:.1f} {y0 + 4:.1f}L{x - 2:.1f} {y1 - 4:.1f}", width=2)
        + pin(round(x, 1), round(y1, 1), 5)
    )


def _release() -> str:
    """Return the thumb lever that lifts the catch out of the teeth."""
    return (
        plate("M148 -74L178 -72L178 -50L148 -48Z", fill=SHADE)
        + bar("M172 -68C188 -76 206 -92 228 -106", 8)
        + f'<circle cx="230" cy="-107" r="7" fill="{SHADE}" stroke="{EDGE}" stroke-width="1.6"/>'
    )
