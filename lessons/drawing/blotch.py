"""Irregular blotches: how much of each kind is drawn, where, and in which shape.

Nothing here is random: a place and a kind always give the same row of blotches,
of which more are drawn, and larger, the more soil there is. So soil that is
partly removed looks like the same soil, less of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple
from zlib import crc32

from lessons.drawing.geometry import Region

MOST = 11
"""Blotches of one kind on one place at most; more would be a smear and a slow page."""

FAINTEST = 0.5
"""Soil below this is not drawn, ug/cm2: a sixth of the lowest limit of L1, so that
what is left after good work leaves a clean picture. Working judgement, no source."""


def how_many(ug_per_cm2: float) -> int:
    """Return how many blotches an amount is drawn with, 0 to `MOST`."""
    if ug_per_cm2 < FAINTEST:
        return 0
    return min(MOST, 1 + int(2.4 * math.log2(1.0 + ug_per_cm2 / 4.0)))


def how_large(ug_per_cm2: float, half_width: float) -> float:
    """Return the size of the blotches, in viewBox units, never wider than the place allows."""
    size = 1.4 + 0.75 * math.log2(1.0 + ug_per_cm2 / 4.0)
    return round(min(size, half_width * 0.85) * 4) / 4


def scattered(
    key: str, regions: tuple[Region, ...], count: int, size: float
) -> Iterator[tuple[float, float, int]]:
    """Yield where each blotch lies and which shape it has, the same for the same key.

    Yields
    ------
    x, y : float
        In the picture.
    shape : int
        A number that chooses the shape.
    """
    start = crc32(key.encode())
    along, across = (start & 0xFFFF) / 65536.0, (start >> 16) / 65536.0
    for number in range(count):
        region = regions[(start + number) % len(regions)]
        # Steps of the golden section fill a line evenly however many are drawn.
        along = (along + 0.6180339887498949) % 1.0
        across = (across + 0.7548776662466927) % 1.0
        room = max(region.half_width - size * 0.8, 0.0)
        x, y = region.along(0.03 + along * 0.94, (2.0 * across - 1.0) * room)
        yield x, y, start + 7 * number


class Glyph(NamedTuple):
    """A small form: where its path starts from its middle, and the path from there on."""

    x: float
    y: float
    path: str


def strewn(where: list[tuple[float, float, int]], glyph: Callable[[int], Glyph]) -> str:
    """Return one path with a glyph at each place."""
    path = []
    for x, y, number in where:
        form = glyph(number)
        path.append(f"M{short(x + form.x)} {short(y + form.y)}{form.path}")
    return "".join(path)


@lru_cache(maxsize=2048)
def round_blotch(shape: int, size: float) -> Glyph:
    """Return the core of a smooth blotch.

    It is meant to be drawn with a round stroke of `core_width(size)`: a short
    bent line drawn thick is a drop or a smear, in a third of the letters.
    """
    points = _corners(shape, size * 0.5, 2 + shape % 2, uneven=0.9)
    return _glyph(points, closed=False)


def core_width(size: float) -> float:
    """Return the width of the stroke that turns a core into a blotch."""
    return round(size * 1.1, 1)


@lru_cache(maxsize=2048)
def angular_blotch(shape: int, size: float, corners: int = 7) -> Glyph:
    """Return a blotch with straight edges."""
    return _glyph(_corners(shape, size, corners, uneven=0.6), closed=True)


def _glyph(points: list[tuple[float, float]], *, closed: bool) -> Glyph:
    path = "".join(f"l{short(bx - ax)} {short(by - ay)}" for (ax, ay), (bx, by) in pairwise(points))
    return Glyph(*points[0], path.replace(" -", "-") + ("z" if closed else ""))


def short(number: float) -> str:
    """Return a number with at most one decimal, in as few letters as SVG allows."""
    text = f"{number:.1f}".removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def _corners(shape: int, size: float, count: int, uneven: float) -> list[tuple[float, float]]:
    turn = (shape % 11) / 11.0 * math.tau
    stretch = 1.0 + ((shape >> 2) % 5) * 0.12
    points = []
    for number in range(count):
        jitter = ((shape * (number + 3) * 2654435761) >> 7) % 97 / 97.0
        r = size * (0.98 - uneven / 2 + uneven * jitter)
        angle = turn + number / count * math.tau
        points.append((r * stretch * math.cos(angle), r * math.sin(angle)))
    return points
