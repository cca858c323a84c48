"""A flexible tube: its tip, its bend, its ports, and below them the inside of three channels."""

from __future__ import annotations

import math

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Lumen, Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, hole, light, line, plate

_SHEATH = "#7c8c99"
"""The sheath is a dark polymer, lit enough that dried soil still shows on it."""
_SHEATH_LIGHT = "#b3c0ca"
_Curve = tuple[tuple[float, float], ...]

_CURVES: tuple[_Curve, ...] = (
    ((96.0, 106.0), (210.0, 106.0), (230.0, 46.0), (300.0, 46.0)),
    ((300.0, 46.0), (372.0, 46.0), (362.0, 118.0), (430.0, 118.0)),
    ((430.0, 118.0), (466.0, 118.0), (470.0, 96.0), (496.0, 94.0)),
)
"""The middle line of the sheath, as cubic curves that meet."""
_DEPTH = ((_CURVES[0], 0.5), (_CURVES[1], 0.24), (_CURVES[1], 0.72))
"""Where the marks of depth stand."""
_HIGH = 250.0
"""Middle line of the three views of the inside."""


def _lumen(place: str, left: float, half: float) -> Lumen:
    return Lumen(place, left, left + 184, _HIGH - half, _HIGH + half, 40.0, left, 184.0)


def flexible_tube(opened: bool) -> Outline:
    """Return the tube; nothing opens, so opened or not looks the same."""
    sheath = (
        Region(tuple(_along(_CURVES[0], 0.45 + step * 0.09) for step in range(7)), 7.0),
        Region(tuple(_along(_CURVES[1], 0.04 + step * 0.11) for step in range(9)), 7.0),
    )
    return Outline(
        steel=_tube() + _tip() + _body() + _ports(),
        over="",
        regions={
            "tip_end": (
                Region(((52.0, 78.0), (52.0, 134.0)), 9.0),
                Region(((84.0, 106.0), (104.0, 106.0)), 14.0),
            ),
            "sheath": sheath,
            "ports": tuple(
                Region(points, 7.0)
                for points in (
                    ((544.0, 50.0), (544.0, 34.0)), ((588.0, 84.0), (604.0, 84.0)),
                    ((588.0, 124.0), (602.0, 124.0)),
                )
            ),
        },
        spots=(
            Spot("tip_end", 62.0, 106.0, 30.0),
            Spot("sheath", 300.0, 48.0, 26.0),
            Spot("ports", 592.0, 88.0, 28.0),
        ),
        wet=sheath,
        lumens=(
            _lumen("suction_channel", 16.0, 19.0),
            _lumen("working_channel", 228.0, 14.0),
            _lumen("fine_channel", 440.0, 7.0),
        ),
    )  # fmt: skip


def _along(curve: _Curve, share: float) -> tuple[float, float]:
    """Return the point of a cubic curve at a share (0 to 1) of its parameter."""
    rest = 1.0 - share
    parts = (rest**3, 3 * rest**2 * share, 3 * rest * share**2, share**3)
    x, y = (
        sum(part * point[axis] for part, point in zip(parts, curve, strict=True)) for axis in (0, 1)
    )
    return round(x, 1), round(y, 1)


def _tube() -> str:
    path = f"M{_CURVES[0][0][0]:g} {_CURVES[0][0][1]:g}" + "".join(
        "C" + " ".join(f"{x:g} {y:g}" for x, y in curve[1:]) for curve in _CURVES
    )
    rings = "".join(_ring(curve, share) for curve, share in _DEPTH)
    return (
        f'<g fill="none" stroke-linecap="round"><path d="{path}" stroke="{EDGE}" '
        f'stroke-width="29"/><path d="{path}" stroke="{_SHEATH}" stroke-width="26"/>'
        f'<path d="{path}" stroke="{_SHEATH_LIGHT}" stroke-width="6" '
        f'transform="translate(0 -6)"/></g>' + line(rings, width=2.4, colour="#eef2f5")
    )


def _ring(curve: _Curve, share: float) -> str:
    """Return a depth mark across the sheath."""
    (ax, ay), (bx, by) = _along(curve, share - 0.02), _along(curve, share + 0.02)
    x, y = _along(curve, share)
    long = math.hypot(bx - ax, by - ay)
    dx, dy = (ay - by) / long * 12.0, (bx - ax) / long * 12.0
    return f"M{x - dx:.1f} {y - dy:.1f}L{x + dx:.1f} {y + dy:.1f}"


def _tip() -> str:
    """Return the tip turned towards the eye: three openings in its face."""
    collar = plate("M60 68L108 88L108 124L60 144Z", fill=SHADE) + line(
        "M84 78l0 56M94 82l0 48", width=1.4
    )
    face = (
        f'<ellipse cx="58" cy="106" rx="28" ry="40" fill="#dfe6ec" stroke="{EDGE}" '
        f'stroke-width="1.8"/>'
    )
    return collar + face + hole(52, 90, 9, 12) + hole(64, 118, 7, 9.5) + hole(46, 122, 3.4, 4.6)


def _body() -> str:
    return (
        plate("M486 78L506 70L506 118L486 110Z", fill=SHADE)
        + plate("M504 62Q506 56 514 56L568 56Q580 56 582 68L582 136Q580 148 568 148L514 148"
                "Q506 148 504 142Z")
        + light("M510 61L570 61", width=3)
        + line("M516 76L516 130", width=2, colour=SHADE)
    )  # fmt: skip


def _ports() -> str:
    """Return three threaded ports, as wide as their channels want."""

    def port(x: float, y: float, half: float, length: float, *, upward: bool = False) -> str:
        turn = f"rotate(-90 {x:g} {y:g})" if upward else "rotate(0)"
        return f'<g transform="{turn}">' + plate(
            f"M{x:g} {y - half:g}l{length:g} 0l0 {2 * half:g}l{-length:g} 0Z"
        ) + line(
            "".join(f"M{x + step:g} {y - half:g}l-3 {2 * half:g}" for step in (10, 16, 22)),
            width=1.5, colour=SHADE,
        ) + hole(x + length, y, 3, half * 0.6) + "</g>"  # fmt: skip

    return port(544, 56, 13, 30, upward=True) + port(582, 84, 11, 30) + port(582, 124, 8, 28)
