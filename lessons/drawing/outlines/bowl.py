"""A steel bowl seen from a little above: inside, rolled rim, outside, and the ring it stands on."""

from __future__ import annotations

import math

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, SHINE, STEEL, light, line, plate

_X, _Y = 320.0, 92.0
"""Middle of the rim."""
_WIDE, _HIGH = 236.0, 62.0
"""Radii of the rim as seen."""
_RIM = 12.0
"""Width of the rolled rim as seen from the side."""


def _arc(
    rx: float, ry: float, start: float, stop: float, y: float
) -> tuple[tuple[float, float], ...]:
    """Return points of an ellipse between two angles in degrees, 0 right, 90 near."""
    steps = 18
    turns = [math.radians(start + (stop - start) * i / steps) for i in range(steps + 1)]
    return tuple((round(_X + rx * math.cos(t), 1), round(y + ry * math.sin(t), 1)) for t in turns)


def bowl(opened: bool) -> Outline:
    """Return the bowl; it has no joint, so opened or not looks the same."""
    inside = (
        Region(_arc(196.0, 40.0, -10.0, 350.0, _Y + 6), 9.0, broad=True),
        Region(_arc(124.0, 24.0, 20.0, 380.0, _Y + 9), 9.0, broad=True),
        Region(((_X - 66, _Y + 11), (_X + 66, _Y + 11)), 10.0, broad=True),
    )
    outside = (
        Region(_arc(212.0, 58.0, 172.0, 8.0, 116.0), 9.0, broad=True),
        Region(_arc(192.0, 52.0, 166.0, 14.0, 158.0), 10.0, broad=True),
        Region(_arc(146.0, 32.0, 160.0, 20.0, 212.0), 9.0, broad=True),
    )
    return Outline(
        steel=_body() + _foot() + _mouth(),
        over="",
        regions={
            "inside": inside,
            "outside": outside,
            "rolled_rim": (Region(_arc(_WIDE, _HIGH, -20.0, 340.0, _Y), 5.0),),
            "base_ring": (Region(_arc(94.0, 12.0, 172.0, 8.0, 269.0), 5.0),),
        },
        spots=(
            Spot("inside", _X, _Y + 10, 30.0),
            Spot("outside", _X, 208.0, 28.0),
            Spot("rolled_rim", _X + _WIDE - 8, _Y + 16, 26.0),
            Spot("base_ring", _X, 276.0, 24.0),
        ),
        wet=(*inside[1:], *outside),
    )


def _body() -> str:
    left, right = _X - _WIDE, _X + _WIDE
    body = plate(
        f"M{left:g} {_Y + 4:g}C{left + 8:g} 190 {_X - 150:g} 258 {_X - 96:g} 268"
        f"L{_X + 96:g} 268C{_X + 150:g} 258 {right - 8:g} 190 {right:g} {_Y + 4:g}Z"
    )
    # Steel mirrors the room in broad upright bands.
    bands = (
        f'<path d="M{left + 60:g} {_Y + 50:g}C{left + 84:g} 214 {_X - 126:g} 250 {_X - 84:g} 264'
        f'L{_X - 50:g} 266C{_X - 104:g} 240 {left + 104:g} 200 {left + 90:g} {_Y + 56:g}Z" '
        f'fill="{SHINE}" opacity=".8"/>'
        f'<path d="M{right - 40:g} {_Y + 40:g}C{right - 60:g} 206 {_X + 130:g} 250 {_X + 92:g} 264'
        f'L{_X + 66:g} 266C{_X + 116:g} 240 {right - 92:g} 200 {right - 76:g} {_Y + 50:g}Z" '
        f'fill="{SHADE}" opacity=".7"/>'
    )
    return body + bands


def _foot() -> str:
    return plate(
        f"M{_X - 98:g} 262C{_X - 60:g} 274 {_X + 60:g} 274 {_X + 98:g} 262L{_X + 98:g} 274"
        f"C{_X + 60:g} 294 {_X - 60:g} 294 {_X - 98:g} 274Z"
    ) + light(f"M{_X - 90:g} 272C{_X - 56:g} 283 {_X - 10:g} 285 {_X + 20:g} 285", width=2.4)


def _mouth() -> str:
    def oval(rx: float, ry: float, fill: str, y: float = _Y, more: str = "") -> str:
        return f'<ellipse cx="{_X:g}" cy="{y:g}" rx="{rx:g}" ry="{ry:g}" fill="{fill}"{more}/>'

    return (
        oval(_WIDE + 5, _HIGH + 5, STEEL, more=f' stroke="{EDGE}" stroke-width="1.8"')
        + oval(_WIDE - 2, _HIGH - 1, "none", more=f' stroke="{SHINE}" stroke-width="3"')
        + oval(_WIDE - 7, _HIGH - 6, SHADE, more=f' stroke="{EDGE}" stroke-width="1.4"')
        + oval(_WIDE - 34, _HIGH - 16, "#b3c1cd", _Y + 6)
        + oval(_WIDE - 80, _HIGH - 30, STEEL, _Y + 10)
        + line(
            f"M{_X - 190:g} {_Y - 8:g}C{_X - 170:g} {_Y + 26:g} {_X - 90:g} {_Y + 42:g} "
            f"{_X - 30:g} {_Y + 46:g}",
            width=4, colour=SHINE, opacity=0.8,
        )
    )  # fmt: skip
