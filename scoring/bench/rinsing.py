"""Rinsing: serial dilution of what the instrument carries, and what the last water leaves.

Each fill of fresh water leaves ``q = h + (1 - h) v / (v + V)`` of the cleaner,
with v the volume carried over, V the fill and h the share held in gaps. So n
fills leave q^n. In water that is not changed only the first fill dilutes. Salts
move towards the water's own: ``c_n = c_w + (c_0 - c_w) q^n``. The textbook form
(Kushner's rinse equations, from memory) is the case h = 0.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument
from scoring.site import SiteValues

HELD = assumed(
    "share of the carried liquid that one rinse does not exchange", 0.2, "1", 0.05, 0.4,
    "gaps, teeth and films do not mix at once; makes the second rinse worth its while (T5)",
)  # fmt: skip
HELD_CLOSED = assumed(
    "share held besides in closed joints", 0.2, "1", 0.05, 0.4, "closed gaps do not exchange; M65"
)
HELD_AIR = assumed(
    "share held besides in a lumen that is not rinsed through", 0.4, "1", 0.1, 0.6, "M62"
)
LOOSE = assumed(
    "fresh soil off with each rinse", 0.4, "1/rinse", 0.1, 1.0,
    "fluidics alone moves loose soil only (B1)",
)  # fmt: skip
DENSITY = assumed(
    "cleaner in a mL of concentrate", 1000.0, "mg/mL", 900.0, 1300.0,
    "a water-based concentrate weighs about as much as water",
)  # fmt: skip
EXCESS = assumed(
    "extra cleaner held for each whole dose above the label's", 4.0, "1", 1.0, 10.0,
    "too much foams and clings (M20); not proportional, so that it is seen",
)  # fmt: skip

CONSTANTS = (HELD, HELD_CLOSED, HELD_AIR, LOOSE, DENSITY, EXCESS)


def dilution(carried_ml: Any, fill_ml: Any, held: Any = 0.0) -> Any:
    """Return what one fill of fresh water leaves, 0 to 1.

    Parameters
    ----------
    carried_ml, fill_ml : float or array
        Volume carried over and volume of the fill, mL, above 0.
    held : float or array
        Share that does not exchange, 0 to 1.

    Returns
    -------
    float or array
    """
    return held + (1.0 - held) * carried_ml / (carried_ml + fill_ml)


def fills_that_dilute(rinses: Any, fresh: Any, ops: Operations) -> Any:
    """Return how many of the rinses dilute: all in changed water, else the first only."""
    return ops.where(fresh, rinses, ops.minimum(rinses, 1.0))


def held_share(handling: Handling, instrument: Instrument, ops: Operations) -> Any:
    """Return the share of the carried liquid that one rinse does not exchange, 0 to 1."""
    kinds = {place.kind for place in instrument.places.values()}
    held: Any = HELD.value
    if "joint" in kinds:
        held = held + ops.where(handling.opened, 0.0, HELD_CLOSED.value)
    if "lumen" in kinds:
        held = held + ops.where(handling.lumen_filled, 0.0, HELD_AIR.value)
    return held


def cleaner_carried(
    carried_ml: float, handling: Handling, site: SiteValues, ops: Operations
) -> Any:
    """Return the cleaner that leaves the bath with the instrument, mg."""
    per_ml = handling.dose_ml / (handling.bath_l * 1000.0) * DENSITY.value
    ratio = handling.dose_ml / (handling.bath_l * site.cleaner.dose_ml_per_l)
    cleaner = ops.pick(_LEAVES_CLEANER, handling.agent)
    return cleaner * carried_ml * per_ml * (1.0 + EXCESS.value * ops.maximum(ratio - 1.0, 0.0))


_LEAVES_CLEANER = {
    "enzymatic_cleaner": 1.0, "alkaline_cleaner": 1.0, "neutral_detergent": 1.0,
    "aldehyde": 1.0, "oxidiser": 1.0, "plain_water": 0.0, "hand_soap": 1.0,
}  # fmt: skip


def salts_mg(carried_ml: float, mg_per_l: float) -> float:
    """Return the salts in the carried volume, mg."""
    return carried_ml / 1000.0 * mg_per_l
