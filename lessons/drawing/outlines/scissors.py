"""Dissecting scissors: smooth blades that cross at a screw, and ring handles."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, spot
from lessons.drawing.outlines.ring_handled import ring
from lessons.drawing.steel import SHADE, STEEL, bar, light, line, pin, placed

_SCREW = (190.0, 150.0)
"""Where the blades cross: opened, tips and rings stay inside the picture."""
_BLADE = 160.0
"""Length of a blade from the screw."""
_END = 350.0
"""Where a shank meets its ring."""
OPEN_DEGREES = 10.0
"""Turn of each half when opened."""


def scissors(opened: bool) -> Outline:
    """Return the scissors, opened or shut."""
    degrees = OPEN_DEGREES if opened else 0.0
    first = Pose(*_SCREW, degrees)
    second = Pose(*_SCREW, -degrees, mirrored=True)
    # The first half's blade is the upper one, its shank and ring are the lower ones.
    regions: dict[str, tuple[Region, ...]] = {
        "blade_left": (region(second, _EDGE_LINE, 4.2),),
        "blade_right": (region(first, _EDGE_LINE, 4.2),),
        "screw_joint": (Region(((_SCREW[0] - 15, _SCREW[1]), (_SCREW[0] + 15, _SCREW[1])), 13.0),),
        "shank_left": (region(first, _SHANK, 4.5),),
        "shank_right": (region(second, _SHANK, 4.5),),
        "ring_left": (region(first, _RING, 4.6),),
        "ring_right": (region(second, _RING, 4.6),),
    }
    return Outline(
        steel=placed(_half(), second.transform()) + placed(_half(), first.transform()),
        over=pin(*_SCREW, 8),
        regions=regions,
        spots=(
            spot("blade_left", second, -112, -5, 22.0),
            spot("blade_right", first, -112, -5, 22.0),
            spot("screw_joint", Pose(*_SCREW), 0, 0, 24.0),
            spot("shank_left", first, 190, 8, 24.0),
            spot("shank_right", second, 190, 8, 24.0),
            spot("ring_left", first, _END + 36, 47, 30.0),
            spot("ring_right", second, _END + 36, 47, 30.0),
        ),
        wet=(
            *regions["shank_left"], *regions["shank_right"],
            *regions["blade_left"], *regions["blade_right"],
        ),
        joints=(_SCREW,),
    )  # fmt: skip


_EDGE_LINE = ((-150.0, -2.5), (-90.0, -5.0), (-32.0, -6.0))
_SHANK = ((44.0, 2.0), (120.0, 4.0), (220.0, 8.5), (_END - 60, 16.0), (_END - 24, 23.0))
_RING = tuple(
    (_END + 36 + dx, 47.0 + dy)
    for dx, dy in ((-26, -18), (0, -26), (26, -16), (35, 3), (26, 20), (0, 26), (-24, 19))
)


def _half() -> str:
    shank = f"M8 1C100 3 {_END - 130:g} 8 {_END - 60:g} 16S{_END - 12:g} 25 {_END + 3:g} 31"
    tip = -_BLADE
    edge = (
        f"M84 -3C54 -9 12 -16 -26 -14C-70 -11.5 -110 -9 {tip + 8:g} -6.5"
        f"Q{tip - 1:g} -5 {tip:g} -1Q{tip:g} 2 {tip + 8:g} 2C-100 3.4 -50 5 -16 8Q20 13 84 8.4"
    )
    # No line across the shank: the blade runs on into it.
    blade = f'<path d="{edge}" fill="{STEEL}" stroke="none"/>' + line(edge, width=1.6)
    # The ground bevel along the cutting edge is what tells a blade from a jaw.
    bevel = (
        f'<path d="M{tip + 6:g} 1.4C-100 2.8 -50 4.4 -22 7L-24 2.6C-60 .6 -100 -.4 {tip + 8:g} '
        f'-1Z" fill="#fafcfd"/>'
    )
    return (
        bar(shank, 11)
        + ring(_END + 36, 47, 36, 26)
        + blade
        + bevel
        + light(f"M8 -11C-20 -12 -90 -7.6 {tip + 14:g} -4.6")
        + line(f"M-24 2.6C-60 .6 -100 -.4 {tip + 8:g} -1", width=0.9, colour=SHADE)
    )
