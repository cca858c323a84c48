"""Wiping: for what must not be immersed. A cloth reaches outside places only.

Each wipe takes the same share of what is there, ``left = exp(-rate * reach * n)``,
and a disinfectant on the cloth fixes protein meanwhile (solved exactly, as in
`chemistry`). The film that the cloth leaves moves towards the cloth's own::

    c_n = c_cloth + (c_0 - c_cloth) exp(-exchange * n)

for cleaner, salts, endotoxin and water. A dripping cloth, or openings not
closed, let water into a device that must stay dry inside.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.brushing import SHUT
from scoring.bench.constants import assumed, values
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations, mean_decay
from scoring.bench.rinsing import DENSITY, STALE
from scoring.bench.state import State
from scoring.bench.wetness import lumen_ml
from scoring.instrument import Instrument, PlaceKind
from scoring.site import SiteValues

_WIPE = "below a brush (B1); set so that ten wipes, ten strokes and ten wipes end clean (T10)"
CLEANER = {
    kind: assumed(
        f"{label} off with each wipe, damp with cleaner", rate, "1/wipe", low, high, _WIPE
    )
    for kind, label, rate, low, high in (
        ("fresh", "fresh protein", 0.5, 0.2, 1.0),
        ("dried", "dried protein", 0.25, 0.05, 0.5),
        ("fixed", "fixed protein", 0.01, 0.0, 0.05),
        ("fat", "fat", 0.3, 0.1, 0.6),
        ("mineral", "mineral", 0.1, 0.03, 0.3),
        ("bone", "bone and cement", 0.05, 0.01, 0.2),
    )
}
WATER = {
    kind: assumed(f"{label} off with each wipe, damp with water", rate, "1/wipe", low, high, _WIPE)
    for kind, label, rate, low, high in (
        ("fresh", "fresh protein", 0.25, 0.1, 0.5),
        ("dried", "dried protein", 0.04, 0.01, 0.1),
        ("fixed", "fixed protein", 0.005, 0.0, 0.02),
        ("fat", "fat", 0.05, 0.01, 0.2),
        ("mineral", "mineral", 0.1, 0.03, 0.3),
        ("bone", "bone and cement", 0.05, 0.01, 0.2),
    )
}
DRY = assumed(
    "fresh protein off with each dry wipe", 0.03, "1/wipe", 0.0, 0.1,
    "a dry cloth smears; it takes a little of what is wet and nothing of what is dry",
)  # fmt: skip
FIXING = {
    "aldehyde": assumed(
        "fixing of protein with each wipe, aldehyde", 0.04, "1/wipe", 0.01, 0.1,
        "half a minute's worth of a bath; direction from B14",
    ),
    "oxidiser": assumed(
        "fixing of protein with each wipe, oxidiser", 0.03, "1/wipe", 0.01, 0.1,
        "half a minute's worth of a bath; direction from B15",
    ),
}  # fmt: skip
REACH = {
    "flat": assumed("reach of a cloth on a place: flat", 1.0, "1", 0.9, 1.0, "the scale"),
    "texture": assumed(
        "reach of a cloth on a place: texture", 0.5, "1", 0.2, 0.7, "holes and edges are bridged"
    ),
    "thread": assumed(
        "reach of a cloth on a place: thread", 0.4, "1", 0.2, 0.6, "valleys are bridged"
    ),
    "serration": assumed(
        "reach of a cloth on a place: serration", 0.3, "1", 0.1, 0.5, "valleys are bridged"
    ),
    "ratchet": assumed(
        "reach of a cloth on a place: ratchet", 0.3, "1", 0.1, 0.5, "valleys are bridged"
    ),
}  # fmt: skip
FILM = {
    "damp": assumed(
        "film left by a damp cloth", 0.002, "mL/cm2", 0.0005, 0.005, "20 micrometres of liquid"
    ),
    "dripping": assumed(
        "film left by a dripping cloth", 0.01, "mL/cm2", 0.003, 0.03, "100 micrometres of liquid"
    ),
}  # fmt: skip
EXCHANGE = assumed(
    "share of the film exchanged with each wipe", 0.4, "1/wipe", 0.2, 0.8,
    "ten wipes with water leave about a fiftieth of the cleaner; makes both wipes of T10 needed",
)  # fmt: skip
LET_IN = {
    "dripping": assumed(
        "water let in with each wipe by a dripping cloth, openings closed", 0.05, "mL/wipe",
        0.01, 0.2, "it creeps past seals; direction from T10 and M55",
    ),
    "dripping_open": assumed(
        "water let in with each wipe by a dripping cloth, openings not closed", 0.2, "mL/wipe",
        0.05, 1.0, "it runs in; direction from T10 and M55",
    ),
    "damp_open": assumed(
        "water let in with each wipe by a damp cloth, openings not closed", 0.05, "mL/wipe",
        0.005, 0.1, "the cloth is pressed out at the edge; direction from T10 and R12",
    ),
}  # fmt: skip

CONSTANTS = (
    *CLEANER.values(), *WATER.values(), DRY, *FIXING.values(), *REACH.values(), *FILM.values(),
    EXCHANGE, *LET_IN.values(),
)  # fmt: skip

_CLEANER, _WATER = values(CLEANER), values(WATER)
_IS_WET = {"none": 0.0, "dry": 0.0, "damp": 1.0, "dripping": 1.0}
_IS_DRY = {"none": 0.0, "dry": 1.0, "damp": 0.0, "dripping": 0.0}
_FILM = values(FILM, zero_for=_IS_WET)
_CLEANS = {
    "enzymatic_cleaner": 1.0, "alkaline_cleaner": 1.0, "neutral_detergent": 1.0,
    "aldehyde": 0.0, "oxidiser": 0.0, "plain_water": 0.0, "hand_soap": 0.0,
}  # fmt: skip
_IS_WATER = dict.fromkeys(_CLEANS, 0.0) | {"plain_water": 1.0}
_FIXING = values(FIXING, zero_for=_CLEANS)
_CLOSED = values({"dripping": LET_IN["dripping"]}, zero_for=_IS_WET)
_OPEN = values({"damp": LET_IN["damp_open"], "dripping": LET_IN["dripping_open"]}, zero_for=_IS_WET)


def wiped_soil(
    kind: PlaceKind, soil: dict[str, Any], handling: Handling, ops: Operations
) -> dict[str, Any]:
    """Return the soil of one place after the wipes; micrograms by kind, the sum never grows.

    Parameters
    ----------
    kind : PlaceKind
        Lumens and joints are not reached by a cloth.
    soil : dict
        Micrograms by kind.
    handling : Handling
        `cloth`, `cloth_agent`, `wipes` and `opened` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict
    """
    if kind not in REACH:
        return soil
    reached = REACH[kind].value * handling.wipes
    if kind in SHUT:
        reached = reached * ops.where(handling.opened, 1.0, SHUT[kind].value)
    wet, dry = ops.pick(_IS_WET, handling.cloth), ops.pick(_IS_DRY, handling.cloth)
    cleans = ops.pick(_CLEANS, handling.cloth_agent)
    rates = {
        name: wet * (_WATER[name] + (rate - _WATER[name]) * cleans)
        for name, rate in _CLEANER.items()
    }
    rates["fresh"] = rates["fresh"] + dry * DRY.value
    left = {name: soil[name] * ops.exp(-rate * reached) for name, rate in rates.items()}
    fixing = ops.pick(_FIXING, handling.cloth_agent) * wet * reached
    off = rates["fixed"] * reached
    for name in ("fresh", "dried"):
        leaving = rates[name] * reached + fixing
        arriving = ops.exp(-off) * fixing * mean_decay(leaving - off, ops)
        left["fixed"] = left["fixed"] + soil[name] * arriving
        left[name] = left[name] * ops.exp(-fixing)
    return left


def wiped_film(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    """Return the state with the cleaner, salts, endotoxin and water that the cloth leaves.

    A water cloth is damp with treated water unless `last_water` says ``tap`` or
    ``stale``; a cleaner is diluted with tap water, as its label asks.
    """
    area = sum(place.area_cm2 for place in instrument.places.values() if place.kind in REACH)
    film = ops.minimum(ops.pick(_FILM, handling.cloth) * area, instrument.carried_ml)
    wet = ops.pick(_IS_WET, handling.cloth)
    water = ops.pick(_IS_WATER, handling.cloth_agent)
    tap_cloth = ops.pick(
        {"treated": 0.0, "stale": 0.0, "tap": 1.0, "none": 0.0}, handling.last_water
    )
    stale_cloth = ops.pick(
        {"treated": 0.0, "stale": 1.0, "tap": 0.0, "none": 0.0}, handling.last_water
    )
    rinse = site.rinse
    pure = rinse.treated_endotoxin_eu_per_ml
    pure = pure + (ops.maximum(STALE.value, pure) - pure) * stale_cloth
    tap = 1.0 - water * (1.0 - tap_cloth)
    salts = rinse.treated_salts_mg_per_l
    salts = (salts + (rinse.tap_salts_mg_per_l - salts) * tap) / 1000.0
    endotoxin = pure + (rinse.tap_endotoxin_eu_per_ml - pure) * tap
    cleaner = (1.0 - water) * site.cleaner.dose_ml_per_l / 1000.0 * DENSITY.value
    kept = ops.exp(-EXCHANGE.value * wet * handling.wipes)
    # What is above the film stands in the lumens, as far as they hold it.
    held = ops.minimum(ops.maximum(state.water_ml, film), film + lumen_ml(instrument))
    rubbed = wet + ops.pick(_IS_DRY, handling.cloth)
    kept_water = ops.exp(-EXCHANGE.value * rubbed * handling.wipes)

    def towards(before: Any, cloth: Any, stays: Any) -> Any:
        return cloth + (before - cloth) * stays

    return state.changed(
        residue_mg=towards(state.residue_mg, film * cleaner, kept),
        ions_mg=towards(state.ions_mg, film * salts, kept),
        endotoxin_eu=towards(state.endotoxin_eu, film * endotoxin, kept),
        water_ml=towards(state.water_ml, held, kept_water),
    )


def let_in_ml(handling: Handling, ops: Operations) -> Any:
    """Return the water that the wipes let into a device, mL, at least 0."""
    closed = ops.pick(_CLOSED, handling.cloth)
    return handling.wipes * ops.where(
        handling.ports_closed, closed, ops.pick(_OPEN, handling.cloth)
    )
