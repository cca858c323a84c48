"""The outlines that instruments are drawn with, one module a form."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from lessons.drawing.outline import Outline
from lessons.drawing.outlines import ring_handled, rongeur, suction_tube
from scoring.faults import FaultError

_OUTLINES: dict[str, Callable[[bool], Outline]] = {
    "clamp": ring_handled.clamp,
    "needle_holder": ring_handled.needle_holder,
    "rongeur": rongeur.rongeur,
    "suction_tube": suction_tube.suction_tube,
}


@lru_cache(maxsize=32)
def outline(name: str, opened: bool) -> Outline:
    """Return an outline by the name that an instrument file gives.

    Raises
    ------
    FaultError
        There is no such outline.
    """
    if name not in _OUTLINES:
        raise FaultError.one(
            "instrument file",
            "drawing",
            found=name,
            wanted=", ".join(sorted(_OUTLINES)),
            remedy="Name one of the outlines that the kit can draw.",
        )
    return _OUTLINES[name](opened)
