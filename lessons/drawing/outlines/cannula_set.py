"""Four cannulas side by side, each with its inside beside it; one is finer than the others."""

from __future__ import annotations

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Lumen, Outline, Spot
from lessons.drawing.steel import SHADE, hole, light, line, plate

_ROWS = (38.0, 110.0, 182.0, 254.0)
"""Height of each cannula's middle line."""
_NAMES = ("cannula_a", "cannula_b", "cannula_c", "cannula_fine")
_LEFT, _RIGHT = 324.0, 620.0
"""The cut-open views, drawn wider than true."""


def cannula_set(opened: bool) -> Outline:
    """Return the set; nothing opens, so opened or not looks the same."""
    steel, lumens = "", []
    hubs, tubes = [], []
    for name, y in zip(_NAMES, _ROWS, strict=True):
        fine = name == "cannula_fine"
        steel += _cannula(y, 5.0 if fine else 10.0)
        half = 5.0 if fine else 11.0
        lumens.append(
            Lumen(
                name, _LEFT, _RIGHT, y + 10 - half, y + 10 + half,
                view=26.0, words_x=_LEFT, words_y=y - 18, aside=-110.0,
            )
        )  # fmt: skip
        hubs.append(Region(((246.0, y), (284.0, y)), 11.0))
        tubes.append(Region(((48.0, y), (222.0, y)), 2.6 if fine else 4.6))
    return Outline(
        steel=steel,
        over="",
        regions={"hubs": tuple(hubs), "outsides": tuple(tubes)},
        spots=(
            Spot("hubs", 266.0, _ROWS[1], 26.0),
            Spot("outsides", 130.0, _ROWS[1], 26.0),
        ),
        wet=tuple(tubes) + tuple(hubs),
        lumens=tuple(lumens),
    )


def _cannula(y: float, width: float) -> str:
    """Return one cannula: a tube with a slanted end, and a hub with wings and a thread."""
    half = width / 2
    tube = plate(
        f"M{30 + half * 1.6:g} {y - half:g}L234 {y - half:g}L234 {y + half:g}L30 {y + half:g}Z"
    )
    slant = line(f"M{32 + half * 1.6:.1f} {y - half + 1:g}L34 {y + half - 1:g}", width=2.2)
    hub = plate(
        f"M230 {y - 6:g}L246 {y - 14:g}L272 {y - 14:g}L276 {y - 11:g}L290 {y - 11:g}"
        f"L290 {y + 11:g}L276 {y + 11:g}L272 {y + 14:g}L246 {y + 14:g}L230 {y + 6:g}Z"
    )
    thread = line(
        "".join(f"M{x} {y - 10:g}l-3 20" for x in (280, 284, 288)), width=1.6, colour=SHADE
    ) + line(f"M250 {y - 14:g}L250 {y + 14:g}M258 {y - 14:g}l0 28", width=1.4, colour=SHADE)
    return (
        tube + slant + hub + thread + hole(290, y, 2.6, 7)
        + light(f"M248 {y - 10:g}L270 {y - 10:g}", width=2.2)
        + light(f"M44 {y - half + 2:g}L228 {y - half + 2:g}", width=1.2)
    )  # fmt: skip
