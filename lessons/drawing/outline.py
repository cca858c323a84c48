"""What an outline gives to the picture: its steel, and where each place lies."""

from __future__ import annotations

from dataclasses import dataclass

from lessons.drawing.geometry import Region


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a place can be marked, in viewBox units (0 0 640 360)."""

    place: str
    x: float
    y: float
    r: float


@dataclass(frozen=True, slots=True)
class Lumen:
    """The cut-open view of a lumen: left, right, top and bottom of its inside."""

    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Outline:
    """An instrument's form in one pose.

    Attributes
    ----------
    steel : str
        SVG under the soil.
    over : str
        SVG above the soil: pins and edges that soil lies behind.
    regions : dict
        By place, where its soil can lie.
    spots : tuple of Spot
        Where each place can be marked.
    wet : tuple of Region
        Where cleaner and water spots lie.
    lumen : Lumen or None
        The cut-open view, if there is one.
    """

    steel: str
    over: str
    regions: dict[str, tuple[Region, ...]]
    spots: tuple[Spot, ...]
    wet: tuple[Region, ...]
    lumen: Lumen | None = None
