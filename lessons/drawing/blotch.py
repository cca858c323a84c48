"""Irregular blotches: how much of each kind is drawn, where, and in which shape.

Nothing here is random: a place and a kind always give the same row of blotches,
of which more are drawn, and larger, the more soil there is. So soil that is
partly removed looks like the same soil, less of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from zlib import crc32

from lessons.drawing.geometry import Region

MOST = 16
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
        # Steps of the plastic number fill a line evenly without ever repeating.
        along = (along + 0.7548776662466927) % 1.0
        across = (across + 0.5698402909980532) % 1.0
        room = max(region.half_width - size * 0.8, 0.0)
        x, y = region.along(0.03 + along * 0.94, (2.0 * across - 1.0) * room)
        yield x, y, start + 7 * number


@lru_cache(maxsize=2048)
def round_blotch(shape: int, size: float) -> str:
    """Return a smooth irregular blotch as a path relative to its middle."""
    corners = _corners(shape, size, 6)
    middles = [
        ((ax + bx) / 2, (ay + by) / 2)
        for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    path = f"m{middles[-1][0]:.1f} {middles[-1][1]:.1f}"
    at = middles[-1]
    for corner, middle in zip(corners, middles, strict=True):
        path += (
            f"q{corner[0] - at[0]:.1f} {corner[1] - at[1]:.1f} "
            f"{middle[0] - at[0]:.1f} {middle[1] - at[1]:.1f}"
        )
        at = middle
    return path + "z"


@lru_cache(maxsize=2048)
def angular_blotch(shape: int, size: float, corners: int = 7) -> str:
    """Return a blotch with straight edges as a path relative to its middle."""
    points = _corners(shape, size, corners)
    path = f"m{points[0][0]:.1f} {points[0][1]:.1f}"
    for (ax, ay), (bx, by) in pairwise(points):
        path += f"l{bx - ax:.1f} {by - ay:.1f}"
    return path + "z"


def _corners(shape: int, size: float, count: int) -> list[tuple[float, float]]:
    turn = (shape % 11) / 11.0 * math.tau
    stretch = 1.0 + ((shape >> 2) % 5) * 0.12
    points = []
    for number in range(count):
        jitter = ((shape * (number + 3) * 2654435761) >> 7) % 97 / 97.0
        r = size * (0.68 + 0.6 * jitter)
        angle = turn + number / count * math.tau
        points.append((r * stretch * math.cos(angle), r * math.sin(angle)))
    return points
