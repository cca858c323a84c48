"""Rinsing: serial dilution of what the instrument carries, and what the last water leaves.

Each fill of fresh water leaves ``q = h + (1 - h) v / (v + V)`` of the cleaner,
with v the volume carried over, V the fill and h the share held in gaps. So n
fills leave q^n. In water that is not changed only the first fill dilutes. In
running water the first B litres fill the basin B and dilute as a fill does; the
rest overflows, and what is left falls further by ``exp(-(V - B) / B)``. So the
same water never leaves more running than still, and no water counts twice. In a
trickle hardly anything is exchanged.
Salts and endotoxin move towards the water's own: ``c_n = c_w + (c_0 - c_w) q^n``;
they do not cling as a cleaner does, so little of them is held. The textbook
forms (Kushner's rinse equations, from memory) are the case h = 0. How the water
moves counts for the tap rinses; the last rinse is always a fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.contact import bath_contact
from scoring.bench.handling import Handling, RinseWay
from scoring.bench.operations import Operations
from scoring.instrument import Instrument, PlaceKind
from scoring.site import SiteValues

HELD = assumed(
    "share of the carried cleaner that one rinse does not take", 0.2, "1", 0.05, 0.4,
    "it clings in gaps, teeth and films; makes the second rinse worth its while (T5)",
)  # fmt: skip
HELD_SALTS = assumed(
    "share of the salts and endotoxin that one rinse does not take", 0.005, "1", 0.0, 0.05,
    "they do not cling; only what stands in gaps is held",
)  # fmt: skip
HELD_CLOSED = assumed(
    "share held besides in closed joints", 0.2, "1", 0.05, 0.4, "closed gaps do not exchange; M65"
)
HELD_AIR = assumed(
    "share held besides in a lumen that is not rinsed through", 0.4, "1", 0.1, 0.6, "M62"
)
BASIN = assumed(
    "basin in which running water overflows", 5.0, "L", 2.0, 20.0, "a small rinse basin"
)
TRICKLE = assumed(
    "share of the carried liquid that a trickle does not exchange", 0.6, "1", 0.4, 0.9,
    "it runs off one side; direction from M65",
)  # fmt: skip
TRICKLE_REACH = assumed(
    "reach of a trickle on a flat place", 0.3, "1", 0.1, 0.5,
    "it wets what faces the tap; hidden places not at all (M65)",
)  # fmt: skip
STALE = assumed(
    "endotoxin in treated water out of a tank that is not emptied", 100.0, "EU/mL", 10.0, 1000.0,
    "ten times the 10 EU/mL of critical water (R3); bacteria grow in it (M64)",
)  # fmt: skip
MIXED = assumed(
    "second chemical left with the cleaner, as a share of it", 1.0, "1", 0.2, 3.0,
    "as much again; direction from M10",
)  # fmt: skip
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

CONSTANTS = (
    HELD, HELD_SALTS, HELD_CLOSED, HELD_AIR, BASIN, TRICKLE, TRICKLE_REACH, STALE, MIXED, LOOSE,
    DENSITY, EXCESS,
)  # fmt: skip

_RUNNING = {"fill": 0.0, "running": 1.0, "trickle": 0.0}
_TRICKLE = {"fill": 0.0, "running": 0.0, "trickle": 1.0}


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


def overflow(turnovers: Any, ops: Operations) -> Any:
    """Return what is left in a basin after so many times its volume ran through, 0 to 1."""
    return ops.exp(-turnovers)


def fills_that_dilute(
    rinses: Any, fresh: Any, ops: Operations, way: RinseWay | Any = "fill"
) -> Any:
    """Return how many of the rinses dilute: all in changed or moving water, else the first only."""
    moving = ops.pick({"fill": 0.0, "running": 1.0, "trickle": 1.0}, way)
    still = ops.where(fresh, rinses, ops.minimum(rinses, 1.0))
    return ops.where(moving, rinses, still)


def tap_rinse(carried_ml: float, held: Any, handling: Handling, ops: Operations) -> Any:
    """Return what one tap rinse leaves, 0 to 1, by the way that the water moves.

    Parameters
    ----------
    carried_ml : float
        Volume carried over, mL.
    held : float or array
        Share that a fill does not exchange, 0 to 1.
    handling : Handling
        `rinse_way` and `rinse_l` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
    """
    way = handling.rinse_way
    fill = dilution(carried_ml, handling.rinse_l * 1000.0, held)
    basin = BASIN.value
    into_basin = dilution(carried_ml, ops.minimum(handling.rinse_l, basin) * 1000.0)
    turnovers = ops.maximum(handling.rinse_l / basin - 1.0, 0.0)
    running = held + (1.0 - held) * into_basin * overflow(turnovers, ops)
    trickle = ops.maximum(fill, TRICKLE.value)
    return ops.where(
        ops.pick(_RUNNING, way), running, ops.where(ops.pick(_TRICKLE, way), trickle, fill)
    )


def tap_reach(kind: PlaceKind, handling: Handling, ops: Operations) -> Any:
    """Return how well the water of a tap rinse reaches a place beside a full basin, 0 to 1."""
    trickle = TRICKLE_REACH.value if kind == "flat" else 0.0
    return ops.where(ops.pick(_TRICKLE, handling.rinse_way), trickle, 1.0)


def held_share(handling: Handling, instrument: Instrument, ops: Operations, clings: float) -> Any:
    """Return the share of the carried liquid that one rinse does not exchange, 0 to 1.

    `clings` is the share that open surfaces hold: `HELD` or `HELD_SALTS`.
    """
    kinds = {place.kind for place in instrument.places.values()}
    held: Any = clings
    if "joint" in kinds:
        held = held + ops.where(handling.opened, 0.0, HELD_CLOSED.value)
    if "lumen" in kinds:
        held = held + ops.where(handling.lumen_filled, 0.0, HELD_AIR.value)
    return held


def cleaner_carried(
    carried_ml: float, handling: Handling, site: SiteValues, ops: Operations
) -> Any:
    """Return the cleaner that leaves the bath with the instrument, mg.

    At most what the carried liquid would hold if it were all concentrate.
    """
    per_ml = handling.dose_ml / (handling.bath_l * 1000.0) * DENSITY.value
    ratio = handling.dose_ml / (handling.bath_l * site.cleaner.dose_ml_per_l)
    cleaner = ops.pick(_LEAVES_CLEANER, handling.agent)
    cleaner = cleaner * ops.where(handling.mixed, 1.0 + MIXED.value, 1.0)
    clinging = 1.0 + EXCESS.value * ops.maximum(ratio - 1.0, 0.0)
    return ops.minimum(cleaner * carried_ml * per_ml * clinging, carried_ml * DENSITY.value)


_LEAVES_CLEANER = {
    "enzymatic_cleaner": 1.0, "alkaline_cleaner": 1.0, "neutral_detergent": 1.0,
    "aldehyde": 1.0, "oxidiser": 1.0, "plain_water": 0.0, "hand_soap": 1.0,
}  # fmt: skip


def salts_mg(carried_ml: float, mg_per_l: float) -> float:
    """Return the salts in the carried volume, mg."""
    return carried_ml / 1000.0 * mg_per_l


@dataclass(frozen=True, slots=True)
class LastRinse:
    """Which water comes last: 1 or 0 each; `any` is any at all, `treated` counts `stale` in."""

    any: Any
    treated: Any
    stale: Any


def last_rinse(handling: Handling, ops: Operations) -> LastRinse:
    """Return which water comes last."""
    water = handling.last_water
    return LastRinse(
        any=ops.pick({"treated": 1.0, "stale": 1.0, "tap": 1.0, "none": 0.0}, water),
        treated=ops.pick({"treated": 1.0, "stale": 1.0, "tap": 0.0, "none": 0.0}, water),
        stale=ops.pick({"treated": 0.0, "stale": 1.0, "tap": 0.0, "none": 0.0}, water),
    )


def loose_left(
    kind: PlaceKind, fills: Any, last: LastRinse, handling: Handling, ops: Operations
) -> Any:
    """Return the share of the fresh soil on a place that the rinses leave, 0 to 1.

    Parameters
    ----------
    kind : PlaceKind
        The place's shape.
    fills : float or array
        Tap rinses that dilute, from `fills_that_dilute`.
    last : LastRinse
        From `last_rinse`.
    handling : Handling
        `rinse_way` and what `scoring.bench.contact.bath_contact` counts.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
    """
    reached = bath_contact(kind, handling, ops) * (
        fills * tap_reach(kind, handling, ops) + last.any
    )
    return ops.exp(-LOOSE.value * reached)


@dataclass(frozen=True, slots=True)
class Series:
    """What the tap rinses, and then the last one in treated water, leave; 0 to 1 each."""

    in_tap: Any
    in_last: Any

    def towards(self, before: Any, tap: Any, treated: Any) -> Any:
        """Return a dissolved amount after the series, moving towards each water's own."""
        amount = tap + (before - tap) * self.in_tap
        return treated + (amount - treated) * self.in_last


def series(
    carried_ml: float,
    clings: float,
    fills: Any,
    last: LastRinse,
    handling: Handling,
    instrument: Instrument,
    ops: Operations,
) -> Series:
    """Return what a series of rinses leaves of something dissolved.

    Parameters
    ----------
    carried_ml : float
        Volume carried over, mL.
    clings : float
        Share that open surfaces hold: `HELD` or `HELD_SALTS`.
    fills : float or array
        Tap rinses that dilute, from `fills_that_dilute`.
    last : LastRinse
        From `last_rinse`. A last rinse in tap water is one more fill.
    handling : Handling
        `rinse_way`, `rinse_l`, `opened` and `lumen_filled` count.
    instrument : Instrument
        Its joints and lumens hold some back.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    Series
    """
    held = held_share(handling, instrument, ops, clings)
    fill = dilution(carried_ml, handling.rinse_l * 1000.0, held)
    tap = tap_rinse(carried_ml, held, handling, ops)
    return Series(in_tap=tap**fills * fill ** (last.any - last.treated), in_last=fill**last.treated)
