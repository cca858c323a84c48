"""The outlines that instruments are drawn with, one module a form."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from lessons.drawing.outline import Outline
from lessons.drawing.outlines import (
    bone_tools,
    bowl,
    cannula_set,
    flexible_tube,
    micro_forceps,
    powered_drill,
    retractor,
    ring_handled,
    rongeur,
    scissors,
    shaft_grasper,
    suction_tube,
)
from lessons.drawing.outlines.lumen_places import completed
from scoring.faults import FaultError

_OUTLINES: dict[str, Callable[[bool], Outline]] = {
    "bowl": bowl.bowl,
    "cannula_set": cannula_set.cannula_set,
    "clamp": ring_handled.clamp,
    "flexible_tube": flexible_tube.flexible_tube,
    "micro_forceps": micro_forceps.micro_forceps,
    "needle_holder": ring_handled.needle_holder,
    "powered_drill": powered_drill.powered_drill,
    "rasp": bone_tools.rasp,
    "reamer": bone_tools.reamer,
    "retractor": retractor.retractor,
    "rongeur": rongeur.rongeur,
    "scissors": scissors.scissors,
    "shaft_grasper": shaft_grasper.shaft_grasper,
    "suction_tube": suction_tube.suction_tube,
}


@lru_cache(maxsize=64)
def outline(name: str, opened: bool, borescope: bool = False) -> Outline:
    """Return an outline by the name that an instrument file gives.

    Parameters
    ----------
    name : str
        The outline.
    opened : bool
        Joints open or shut.
    borescope : bool
        Whether lumens are seen down a borescope, or cut open.

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
    return completed(_OUTLINES[name](opened), borescope)
