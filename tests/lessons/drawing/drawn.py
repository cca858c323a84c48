"""What the tests of the pictures share: states to draw, and how to read what was drawn."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import Any, NamedTuple

from lessons.drawing import draw
from lessons.drawing.lettering import width
from scoring.bench.state import SOIL_KINDS, State
from tests.scoring.bench.case import ROOT, handled, instrument

INSTRUMENTS = tuple(
    sorted(
        path.stem
        for path in (ROOT / "lessons" / "instruments").glob("*.yaml")
        if "." not in path.stem
    )
)
"""Every instrument that the library knows."""

HOLLOW = tuple(
    name
    for name in INSTRUMENTS
    if any(place.kind == "lumen" for place in instrument(name).places.values())
)
"""Those with a lumen."""

SVG = "{http://www.w3.org/2000/svg}"


def with_soil(name: str, **kinds: float) -> State:
    """Soil in ug/cm2 on every place."""
    shapes = instrument(name).places
    soil = {
        place: {kind: kinds.get(kind, 0.0) * shape.area_cm2 for kind in SOIL_KINDS}
        for place, shape in shapes.items()
    }
    return State(soil=soil)


def svg_of(name: str, state: State, **handling: Any) -> str:
    return draw(instrument(name), state, handled(**handling), title="Now").svg


def alt_of(name: str, state: State, **handling: Any) -> str:
    return draw(instrument(name), state, handled(**handling), title="").alt


def ink(svg: str) -> float:
    """Sum over the groups of soil of opacity times number of blotches."""
    groups = re.findall(r'<g opacity="([0-9.]+)">(.*?)</g>', svg)
    return sum((float(opacity) * inner.count("M") for opacity, inner in groups), 0.0)


class Words(NamedTuple):
    """Where a text stands, in the picture's units."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Words) -> bool:
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom


def words_in(svg: str) -> list[Words]:
    """Return every text of a picture with the box it takes."""
    root = ET.fromstring(svg)  # noqa: S314 - our own text
    parents = {child: parent for parent in root.iter() for child in parent}
    found = []
    for text in root.iter(f"{SVG}text"):
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        size = float(text.get("font-size", "16"))
        moved = re.fullmatch(
            r"translate\(([-0-9.]+) ([-0-9.]+)\)(?: scale\(([0-9.]+)\))?",
            parents[text].get("transform", "translate(0 0)"),
        )
        assert moved, parents[text].get("transform")
        scale = float(moved[3] or 1)
        left, base = float(moved[1]) + x * scale, float(moved[2]) + y * scale
        said = text.text or ""
        found.append(
            Words(
                said,
                left,
                base - 0.74 * size * scale,
                left + width(said, size * scale),
                base + 0.22 * size * scale,
            )
        )
    return found
