"""Dissecting scissors: smooth blades that cross at a screw, and ring handles."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, spot
from lessons.drawing.outlines.ring_handled import ring
from lessons.drawing.steel import SHADE, bar, light, line, pin, placed, plate

_SCREW = (246.0, 152.0)
"""Where the blades cross: opened, tips and rings stay inside the picture."""
_BLADE = 212.0
"""Length of a blade from the screw."""
_END = 292.0
"""Where a shank meets its ring."""
OPEN_DEGREES = 12.0
"""Turn of each half when opened."""


def scissors(opened: bool) -> Outline:
    """Return the scissors, opened or shut."""
    degrees = OPEN_DEGREES if opened else 0.0
    first = Pose(*_SCREW, degrees)
    second = Pose(*_SCREW, -degrees, mirrored=True)
    # The first half's blade is the upper one, its shank and ring are the lower ones.
    regions: dict[str, tuple[Region, ...]] = {
        "blade_left": (region(second, ((-196.0, -3.5), (-110.0, -9.0), (-26.0, -12.0)), 4.5),),
        "blade_right": (region(first, ((-196.0, -3.5), (-110.0, -9.0), (-26.0, -12.0)), 4.5),),
        "screw_joint": (Region(((_SCREW[0] - 15, _SCREW[1]), (_SCREW[0] + 15, _SCREW[1])), 13.0),),
        "shank_left": (region(first, _SHANK, 4.5),),
        "shank_right": (region(second, _SHANK, 4.5),),
        "ring_left": (region(first, _RING, 4.6),),
        "ring_right": (region(second, _RING, 4.6),),
    }
    return Outline(
        steel=placed(_half(), second.transform()) + placed(_half(), first.transform()),
        over=pin(*_SCREW, 9),
        regions=regions,
        spots=(
            spot("blade_left", second, -124, -7, 22.0),
            spot("blade_right", first, -124, -7, 22.0),
            spot("screw_joint", Pose(*_SCREW), 0, 0, 24.0),
            spot("shank_left", first, 140, 10, 24.0),
            spot("shank_right", second, 140, 10, 24.0),
            spot("ring_left", first, _END + 36, 47, 30.0),
            spot("ring_right", second, _END + 36, 47, 30.0),
        ),
        wet=(
            *regions["shank_left"], *regions["shank_right"],
            *regions["blade_left"], *regions["blade_right"],
        ),
        joints=(_SCREW,),
    )  # fmt: skip


_SHANK = ((34.0, 3.0), (120.0, 8.0), (200.0, 13.0), (_END - 22, 23.0))
_RING = tuple(
    (_END + 36 + dx, 47.0 + dy)
    for dx, dy in ((-26, -18), (0, -26), (26, -16), (35, 3), (26, 20), (0, 26), (-24, 19))
)


def _half() -> str:
    shank = f"M12 2C90 4 180 9 {_END - 40:g} 18S{_END - 8:g} 26 {_END + 2:g} 33"
    tip = -_BLADE
    blade = plate(
        f"M26 -9C8 -17 -30 -19 -70 -17C-120 -14.5 -170 -9 {tip + 6:g} -4.5"
        f"Q{tip - 3:g} -2.5 {tip + 4:g} 1.2C-150 4 -60 6 0 9Q20 10 30 6Z"
    )
    # The ground bevel along the cutting edge is what tells a blade from a jaw.
    bevel = (
        f'<path d="M{tip + 6:g} 1C-150 3.6 -60 5.4 -14 8L-14 3C-70 1 -150 0 {tip + 10:g} -1Z" '
        f'fill="#f6f9fb"/>'
    )
    return (
        ring(_END + 36, 47, 36, 26)
        + bar(shank, 12)
        + blade
        + bevel
        + light("M10 -12C-30 -15.5 -110 -12 -176 -6")
        + line("M-14 3C-70 1 -150 0 -202 -1", width=0.8, colour=SHADE)
    )
