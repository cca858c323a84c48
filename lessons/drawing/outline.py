"""What an outline gives to the picture: its steel, and where each place lies."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from lessons.drawing.geometry import Pose, Region

NoteKey = Literal["back"]
"""Words that a drawing needs beside a second view of the same thing."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a place can be marked, in viewBox units (0 0 640 360)."""

    place: str
    x: float
    y: float
    r: float


def spot(place: str, pose: Pose, x: float, y: float, r: float) -> Spot:
    """Return where a place can be marked, from where it lies on its part.

    Parameters
    ----------
    place : str
        The place.
    pose : Pose
        Where its part lies.
    x, y : float
        The spot's middle on the part.
    r : float
        Its radius, viewBox units.
    """
    px, py = pose.at(x, y)
    return Spot(place, round(px, 1), round(py, 1), r)


@dataclass(frozen=True, slots=True)
class Lumen:
    """Where the inside of a lumen is shown.

    Attributes
    ----------
    place : str
        The lumen.
    left, right, top, bottom : float
        The bore, cut open along its length, in the picture.
    view : float
        Radius of the round view through a borescope.
    words_x, words_y : float
        Where its caption starts, if it stands above the view.
    leads : tuple of (float, float)
        Two points on the instrument from which lines lead to the view, or none.
    aside : float
        How far the round view lies to the right of the bore's middle.
    """

    place: str
    left: float
    right: float
    top: float
    bottom: float
    view: float
    words_x: float
    words_y: float
    leads: tuple[tuple[float, float], ...] = ()
    aside: float = 0.0

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of the bore."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    @property
    def eye(self) -> tuple[float, float]:
        """The middle of the round view."""
        x, y = self.middle
        return x + self.aside, y


@dataclass(frozen=True, slots=True)
class Note:
    """A few words in the drawing: which, and where they start."""

    key: NoteKey
    x: float
    y: float


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
        By place, where its soil can lie; the lumens of `lumens` excepted.
    spots : tuple of Spot
        Where each place can be marked; the lumens of `lumens` excepted.
    wet : tuple of Region
        Where cleaner, water and water spots lie.
    lumens : tuple of Lumen
        The insides that are shown, in the order of the instrument.
    joints : tuple of (float, float)
        Where a joint can be seen to be oiled.
    dry : (float, float) or None
        Where water shows that got into a device which must stay dry inside.
    notes : tuple of Note
        Words beside second views.
    """

    steel: str
    over: str
    regions: dict[str, tuple[Region, ...]]
    spots: tuple[Spot, ...]
    wet: tuple[Region, ...]
    lumens: tuple[Lumen, ...] = ()
    joints: tuple[tuple[float, float], ...] = ()
    dry: tuple[float, float] | None = None
    notes: tuple[Note, ...] = field(default=())
