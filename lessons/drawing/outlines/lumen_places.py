"""Where the soil of a lumen lies in its two views: cut open, and down a borescope."""

from __future__ import annotations

import math
from dataclasses import replace

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Lumen, Outline, Spot

_RING = 24
"""Points of the ring on which soil lies in the round view; more could not be told apart."""


def completed(form: Outline, borescope: bool) -> Outline:
    """Return the outline with the regions and spots of its lumens."""
    if not form.lumens:
        return form
    where = round_wall if borescope else cut_walls
    return replace(
        form,
        regions=form.regions | {lumen.place: where(lumen) for lumen in form.lumens},
        spots=form.spots + tuple(_spot(lumen, borescope) for lumen in form.lumens),
    )


def _spot(lumen: Lumen, borescope: bool) -> Spot:
    x, y = lumen.eye if borescope else lumen.middle
    return Spot(lumen.place, x, y, max(22.0, min(28.0, lumen.view)))


def cut_walls(lumen: Lumen) -> tuple[Region, ...]:
    """Return both walls of the bore that is drawn cut open."""
    deep = min(7.0, (lumen.bottom - lumen.top) * 0.3)
    return tuple(
        Region(((lumen.left + 8, y), (lumen.right - 8, y)), deep)
        for y in (lumen.top + deep, lumen.bottom - deep)
    )


def round_wall(lumen: Lumen) -> tuple[Region, ...]:
    """Return the wall as seen down the bore: a ring about the dark far end."""
    x, y = lumen.eye
    r = lumen.view * 0.68
    return (
        Region(
            tuple(
                (
                    round(x + r * math.cos(step / _RING * math.tau), 1),
                    round(y + r * math.sin(step / _RING * math.tau), 1),
                )
                for step in range(_RING + 1)
            ),
            lumen.view * 0.26,
            broad=True,
        ),
    )
