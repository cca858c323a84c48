"""Points, turns and the regions in which soil can lie."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a part lies: mirrored about the x axis or not, turned, then moved.

    Attributes
    ----------
    x, y : float
        The pivot in the picture, in units of its viewBox.
    degrees : float
        Turn about the pivot, clockwise as seen.
    mirrored : bool
        Whether up and down are swapped first.
    """

    x: float
    y: float
    degrees: float = 0.0
    mirrored: bool = False

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the part lies in the picture."""
        turn = math.radians(self.degrees)
        y = -y if self.mirrored else y
        return (
            self.x + x * math.cos(turn) - y * math.sin(turn),
            self.y + x * math.sin(turn) + y * math.cos(turn),
        )

    def transform(self) -> str:
        """Return the same as an SVG transform."""
        mirror = " scale(1 -1)" if self.mirrored else ""
        return f"translate({self.x:g} {self.y:g}) rotate({self.degrees:g}){mirror}"


@dataclass(frozen=True, slots=True)
class Region:
    """Where the soil of one place can lie: a line with a half width.

    Attributes
    ----------
    points : tuple of (float, float)
        The line, in the picture, at least two points.
    half_width : float
        How far from the line soil may reach.
    broad : bool
        Whether the line only stands for a broad face, on which a film along it would
        look like a stripe.
    """

    points: tuple[tuple[float, float], ...]
    half_width: float
    broad: bool = False

    @property
    def length(self) -> float:
        """Length of the line."""
        return sum(math.dist(a, b) for a, b in pairwise(self.points))

    def along(self, share: float, aside: float) -> tuple[float, float]:
        """Return the point at `share` (0 to 1) of the line, `aside` units to its left.

        Raises
        ------
        ValueError
            The line has fewer than two points.
        """
        lengths = [math.dist(a, b) for a, b in zip(self.points, self.points[1:], strict=False)]
        way = share * sum(lengths)
        for (ax, ay), (bx, by), length in zip(self.points, self.points[1:], lengths, strict=False):
            if way <= length or (bx, by) == self.points[-1]:
                part = min(way / length, 1.0)
                across_x, across_y = (ay - by) / length, (bx - ax) / length
                return ax + (bx - ax) * part + across_x * aside, (
                    ay + (by - ay) * part + across_y * aside
                )
            way -= length
        raise ValueError("a region needs at least two points")


def region(pose: Pose, points: tuple[tuple[float, float], ...], half_width: float) -> Region:
    """Return the region of a part, placed in the picture."""
    return Region(tuple(pose.at(x, y) for x, y in points), half_width)
