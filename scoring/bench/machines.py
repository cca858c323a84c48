"""Machines: what an ultrasonic bath or a washer does to what the sink left.

``left = exp(-rate(kind of soil) * reach(place))`` for one cycle. Sound reaches
where liquid reaches; spray reaches what it can see. The washer's hot phase
fixes a share of the protein that is then still there. Only the direction is
anchored: a machine after the sink leaves fewer positives than hand or washer
alone (C4), a machine alone took 95.1 % off opened hinged forceps (C5), and dried
soil does not go straight in (T19).
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed, values
from scoring.bench.contact import CLOSED, PILED, bath_contact
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.bench.rinsing import salts_mg
from scoring.bench.state import State
from scoring.bench.wetness import lumen_ml
from scoring.instrument import Instrument, PlaceKind
from scoring.site import SiteValues

_CYCLE = "one cycle; only the order is known (C4, C5, T19)"
SOUND = {
    kind: assumed(f"{label} off in an ultrasonic cycle", rate, "1", low, high, _CYCLE)
    for kind, label, rate, low, high in (
        ("fresh", "fresh protein", 4.0, 2.0, 6.0),
        ("dried", "dried protein", 1.5, 0.5, 3.0),
        ("fixed", "fixed protein", 0.3, 0.0, 1.0),
        ("fat", "fat", 1.0, 0.3, 2.0),
        ("mineral", "mineral", 1.0, 0.3, 2.0),
        ("bone", "bone and cement", 0.7, 0.2, 1.5),
    )
}
SPRAY = {
    kind: assumed(f"{label} off in a washer's cycle", rate, "1", low, high, _CYCLE)
    for kind, label, rate, low, high in (
        ("fresh", "fresh protein", 7.0, 4.0, 10.0),
        ("dried", "dried protein", 4.5, 2.0, 7.0),
        ("fixed", "fixed protein", 0.5, 0.0, 1.0),
        ("fat", "fat", 5.0, 2.0, 8.0),
        ("mineral", "mineral", 2.0, 1.0, 4.0),
        ("bone", "bone and cement", 0.3, 0.1, 1.0),
    )
}
SEEN = {
    kind: assumed(f"reach of a washer's spray: {kind}", reach, "1", low, high, why)
    for kind, reach, low, high, why in (
        ("flat", 1.0, 0.8, 1.0, "the scale"),
        ("serration", 0.7, 0.4, 0.9, "valleys lie in part in the shadow"),
        ("texture", 0.6, 0.3, 0.8, "holes and edges lie in part in the shadow"),
        ("ratchet", 0.6, 0.3, 0.8, "teeth lie in part in the shadow"),
        ("thread", 0.6, 0.3, 0.8, "valleys lie in part in the shadow"),
        ("joint", 0.65, 0.4, 0.8, "inner faces, opened: near the 95.1 % of C5"),
        ("lumen", 0.1, 0.0, 0.3, "not connected: only the ends (T9)"),
    )
}
HOT = assumed(
    "share of the protein still there that a washer's hot phase fixes", 0.6, "1", 0.2, 0.9,
    "disinfection runs far above the caps of B16 and B17; the share is not given",
)  # fmt: skip
SHAKEN = assumed(
    "damage to a delicate instrument in an ultrasonic bath", 0.4, "1", 0.1, 0.8,
    "glued joints, lenses and fine tips fail (M85)",
)  # fmt: skip
CLEANER_LEFT = assumed(
    "cleaner left by a washer's own rinses, as a share", 0.02, "1", 0.0, 0.1, "it rinses by itself"
)
DRIED = assumed(
    "water left outside by a washer's drying, as a share", 0.05, "1", 0.0, 0.2,
    "warm air dries what it meets; a lumen that is not connected stays wet (M83)",
)  # fmt: skip

CONSTANTS = (
    *SOUND.values(), *SPRAY.values(), *SEEN.values(), HOT, SHAKEN, CLEANER_LEFT, DRIED,
)  # fmt: skip

_SOUND, _SPRAY = values(SOUND), values(SPRAY)
_IS_SOUND = {"none": 0.0, "ultrasonic": 1.0, "washer": 0.0}
_IS_SPRAY = {"none": 0.0, "ultrasonic": 0.0, "washer": 1.0}


def machined_soil(
    kind: PlaceKind, soil: dict[str, Any], handling: Handling, ops: Operations
) -> dict[str, Any]:
    """Return the soil of one place after the machine; micrograms by kind, the sum never grows.

    Parameters
    ----------
    kind : PlaceKind
        The place's shape.
    soil : dict
        Micrograms by kind.
    handling : Handling
        `machine`, `opened`, `one_layer` and `lumen_filled` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict
    """
    sound = ops.pick(_IS_SOUND, handling.machine)
    spray = ops.pick(_IS_SPRAY, handling.machine)
    heard = bath_contact(kind, handling.changed(immersed=True), ops) * sound
    seen = SEEN[kind].value * ops.where(handling.one_layer, 1.0, PILED.value) * spray
    if kind in CLOSED:
        seen = seen * ops.where(handling.opened, 1.0, CLOSED[kind].value)
    left = {
        name: amount * ops.exp(-_SOUND[name] * heard - _SPRAY[name] * seen)
        for name, amount in soil.items()
    }
    hot = HOT.value * spray
    return {
        **left,
        "fresh": left["fresh"] * (1.0 - hot),
        "dried": left["dried"] * (1.0 - hot),
        "fixed": left["fixed"] + (left["fresh"] + left["dried"]) * hot,
    }


def machined_rest(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    """Return the state with the water, salts, endotoxin, cleaner and damage after the machine.

    An ultrasonic bath is filled with tap water and rinses nothing; a washer ends
    with treated water. Both take a water-soluble lubricant off.
    """
    sound = ops.pick(_IS_SOUND, handling.machine)
    spray = ops.pick(_IS_SPRAY, handling.machine)
    carried, rinse = instrument.carried_ml, site.rinse

    def by_machine(before: Any, after_sound: Any, after_spray: Any) -> Any:
        return ops.where(sound, after_sound, ops.where(spray, after_spray, before))

    inside = lumen_ml(instrument)
    still = ops.where(state.oil_mg > 0, state.lubricated, 0.0)
    damage = state.damage
    if instrument.delicate:
        damage = ops.maximum(damage, SHAKEN.value * sound)
    return state.changed(
        residue_mg=by_machine(
            state.residue_mg, state.residue_mg, state.residue_mg * CLEANER_LEFT.value
        ),
        ions_mg=by_machine(
            state.ions_mg,
            salts_mg(carried, rinse.tap_salts_mg_per_l),
            salts_mg(carried, rinse.treated_salts_mg_per_l),
        ),
        endotoxin_eu=by_machine(
            state.endotoxin_eu,
            carried * rinse.tap_endotoxin_eu_per_ml,
            carried * rinse.treated_endotoxin_eu_per_ml,
        ),
        water_ml=by_machine(state.water_ml, carried, inside + (carried - inside) * DRIED.value),
        lubricated=by_machine(state.lubricated, still, still),
        damage=damage,
    )


def runs(handling: Handling, ops: Operations) -> Any:
    """Return 1 where there is a machine, else 0."""
    return ops.pick(_IS_SOUND, handling.machine) + ops.pick(_IS_SPRAY, handling.machine)
