"""A suction tube, and below it the tube cut open along its length."""

from __future__ import annotations

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Lumen, Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, bar, light, line, plate

_LUMEN = Lumen(
    "lumen",
    86.0,
    566.0,
    226.0,
    268.0,
    view=56.0,
    words_x=210.0,
    words_y=202.0,
    leads=((176.0, 108.0), (392.0, 108.0)),
)
"""The tube cut open, drawn wider than true: soil inside must be seen at arm's length."""


def suction_tube(opened: bool) -> Outline:
    """Return the suction tube; it has no joint, so opened or not looks the same."""
    tube = "M44 150C70 116 108 98 160 96L404 96"
    steel = bar(tube, 17) + _tip() + _handle()
    regions: dict[str, tuple[Region, ...]] = {
        "tip": (Region(((40.0, 152.0), (50.0, 139.0)), 8.0),),
        "side_holes": (Region(((66.0, 124.0), (104.0, 104.0)), 8.0),),
        "outer": (Region(((132.0, 97.0), (170.0, 95.0), (396.0, 95.0)), 7.5),),
        "handle": (Region(((424.0, 94.0), (540.0, 94.0)), 19.0, broad=True),),
    }
    return Outline(
        steel=steel,
        over="",
        regions=regions,
        spots=(
            Spot("tip", 42.0, 152.0, 22.0),
            Spot("side_holes", 86.0, 112.0, 24.0),
            Spot("outer", 264.0, 96.0, 26.0),
            Spot("handle", 482.0, 94.0, 30.0),
        ),
        wet=(regions["outer"][0], regions["handle"][0]),
        lumens=(_LUMEN,),
    )


def _tip() -> str:
    """Return a rounded olive at the end, with its own opening and a row of side holes."""
    olive = plate("M53 131C60 138 58 146 52 153C46 161 37 165 32 160C27 155 30 146 36 139Z")
    mouth = (
        f'<ellipse cx="36" cy="157" rx="5.5" ry="3.6" transform="rotate(-48 36 157)" '
        f'fill="{EDGE}"/>'
    )
    holes = "".join(
        f'<ellipse cx="{x}" cy="{y}" rx="4" ry="2.7" transform="rotate({turn} {x} {y})" '
        f'fill="{EDGE}"/>'
        for x, y, turn in ((68, 124, -40), (82, 114, -32), (97, 106, -24))
    )
    return olive + light("M38 143C42 138 46 135 50 133") + mouth + holes


def _handle() -> str:
    """Return a flat grip with a thumb hole, and the ribbed end that takes the hose."""
    grip = plate(
        "M400 84C412 74 424 70 440 70L520 70C536 70 546 76 552 86L552 104C546 114 536 118 520 118"
        "L440 118C424 118 412 114 400 106Z"
    )
    thumb = (
        f'<ellipse cx="452" cy="94" rx="9" ry="7" fill="{EDGE}"/>'
        f'<ellipse cx="452" cy="94" rx="13" ry="10.5" fill="none" stroke="{SHADE}" '
        f'stroke-width="2.4"/>'
    )
    ribs = line(
        "M486 78l0 32M496 78l0 32M506 78l0 32M516 78l0 32M526 78l0 32", width=2.2, colour=SHADE
    )
    hose = plate(
        "M552 87L562 87L566 83L574 83L574 87L580 83L588 83L588 87L594 83L604 83L608 88L608 102"
        "L604 107L594 107L588 103L588 107L580 107L574 103L574 107L566 107L562 103L552 103Z"
    )
    return hose + grip + light("M418 77C426 74 434 74 442 74L518 74", width=3) + thumb + ribs
