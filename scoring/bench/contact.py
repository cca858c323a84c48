"""Contact: which share of a place the bath or the rinse water reaches."""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import PlaceKind

CLOSED = {
    "joint": assumed(
        "contact inside a closed joint", 0.03, "1", 0.0, 0.1,
        "the faces lie on each other; direction from B2 and M27",
    ),
    "serration": assumed(
        "contact between closed jaws", 0.1, "1", 0.02, 0.3,
        "the teeth lie in each other; direction from B2 and M27",
    ),
    "ratchet": assumed(
        "contact inside an engaged ratchet", 0.15, "1", 0.05, 0.4,
        "the teeth lie in each other; direction from B2 and M27",
    ),
}  # fmt: skip
PILED = assumed(
    "contact in a piled tray", 0.3, "1", 0.1, 0.6,
    "surfaces shadow each other; direction from M28",
)  # fmt: skip
AFLOAT = assumed(
    "contact when not wholly immersed", 0.3, "1", 0.1, 0.5,
    "about half of a floating item is dry and turns over only now and then; M30",
)  # fmt: skip
AIR = assumed(
    "contact inside a lumen that holds air", 0.02, "1", 0.0, 0.1,
    "only the wetted ends are reached; direction from T9 and M29",
)  # fmt: skip

CONSTANTS = (*CLOSED.values(), PILED, AFLOAT, AIR)


def bath_contact(kind: PlaceKind, handling: Handling, ops: Operations) -> Any:
    """Return the share of a place that liquid reaches, 0 to 1.

    Parameters
    ----------
    kind : PlaceKind
        The place's shape.
    handling : Handling
        `opened`, `one_layer`, `immersed` and `lumen_filled` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
    """
    share = ops.where(handling.one_layer, 1.0, PILED.value)
    share = share * ops.where(handling.immersed, 1.0, AFLOAT.value)
    if kind in CLOSED:
        share = share * ops.where(handling.opened, 1.0, CLOSED[kind].value)
    if kind == "lumen":
        share = share * ops.where(handling.lumen_filled, 1.0, AIR.value)
    return share
