"""One name for each process of the bench, and the function that runs it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scoring.bench import brushing, chemistry, drying, exposure, lumen, rinsing, wearing
from scoring.bench.contact import bath_contact
from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR, Operations
from scoring.bench.state import State
from scoring.instrument import Instrument
from scoring.site import SiteValues

_Run = Callable[[State, Handling, Instrument, SiteValues, Operations], State]


def _dry(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    soil = {
        name: drying.dried_on(amounts, handling.minutes, handling.moist, ops)
        for name, amounts in state.soil.items()
    }
    return state.changed(soil=soil)


def _soak(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    rates = chemistry.bath_rates(handling, site, ops)
    left_by_kind: dict[str, chemistry.Shares] = {}
    soil = {}
    for name, place in instrument.places.items():
        if place.kind not in left_by_kind:
            contact = bath_contact(place.kind, handling, ops)
            left_by_kind[place.kind] = chemistry.shares(rates, contact, handling.minutes, ops)
        soil[name] = chemistry.soaked(state.soil[name], left_by_kind[place.kind], ops)
    carried = instrument.carried_ml
    return state.changed(
        soil=soil,
        residue_mg=rinsing.cleaner_carried(carried, handling, site, ops),
        ions_mg=rinsing.salts_mg(carried, site.rinse.tap_salts_mg_per_l),
        damage=wearing.worn_by_bath(state.damage, handling, instrument, site, ops),
    )


def _brush(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    left_by_touch: dict[tuple[str, float | None], dict[str, Any]] = {}
    soil = {}
    for name, place in instrument.places.items():
        shape = (place.kind, place.bore_mm)
        if shape not in left_by_touch:
            touching = brushing.touch(place, handling, site, ops)
            left_by_touch[shape] = brushing.left_after_strokes(touching, handling, site, ops)
        soil[name] = brushing.brushed(state.soil[name], left_by_touch[shape])
    thrown = exposure.droplets_from(
        handling.strokes, exposure.STROKE.value, handling.under_water, ops
    )
    return _splashed(state, thrown, handling, ops).changed(
        soil=soil, damage=brushing.scratched(state.damage, handling, ops)
    )


def _flush(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    soil = dict(state.soil)
    for name, place in instrument.places.items():
        if place.kind == "lumen":
            left = lumen.left_after_flush(place, handling, ops)
            soil[name] = brushing.brushed(state.soil[name], left)
    under = ops.where(handling.under_water, handling.far_end_under, False)
    thrown = exposure.droplets_from(handling.flush_ml, exposure.FLUSH.value, under, ops)
    return _splashed(state, thrown, handling, ops).changed(soil=soil)


def _rinse(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    carried = instrument.carried_ml
    held = rinsing.held_share(handling, instrument, ops)
    once = rinsing.dilution(carried, handling.rinse_l * 1000.0, held)
    fills = rinsing.fills_that_dilute(handling.rinses, handling.fresh_rinse, ops)
    last = ops.pick({"treated": 1.0, "tap": 1.0, "none": 0.0}, handling.last_water)
    treated = ops.pick({"treated": 1.0, "tap": 0.0, "none": 0.0}, handling.last_water)
    tap_salts = rinsing.salts_mg(carried, site.rinse.tap_salts_mg_per_l)
    treated_salts = rinsing.salts_mg(carried, site.rinse.treated_salts_mg_per_l)
    in_tap = once ** (fills + last - treated)
    in_last = once**treated
    ions = tap_salts + (state.ions_mg - tap_salts) * in_tap
    soil = {}
    for name, place in instrument.places.items():
        reached = bath_contact(place.kind, handling, ops) * (fills + last)
        loose = ops.exp(-rinsing.LOOSE.value * reached)
        soil[name] = {**state.soil[name], "fresh": state.soil[name]["fresh"] * loose}
    return state.changed(
        soil=soil,
        residue_mg=state.residue_mg * in_tap * in_last,
        ions_mg=treated_salts + (ions - treated_salts) * in_last,
    )


def _inspect(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    return state


def _splashed(state: State, thrown: Any, handling: Handling, ops: Operations) -> State:
    return state.changed(
        droplets=state.droplets + thrown,
        exposure=state.exposure + exposure.exposed(thrown, handling, ops),
    )


_STEPS: dict[str, _Run] = {
    "dry": _dry,
    "soak": _soak,
    "brush": _brush,
    "flush": _flush,
    "rinse": _rinse,
    "inspect": _inspect,
}


def run_step(
    step: str,
    state: State,
    handling: Handling,
    instrument: Instrument,
    site: SiteValues,
    operations: Operations = SCALAR,
) -> State:
    """Return the state after `step` ran on `state` with this handling.

    Parameters
    ----------
    step : str
        ``dry``, ``soak``, ``brush``, ``flush``, ``rinse`` or ``inspect``.
    state : State
        The instrument before. Not changed.
    handling : Handling
        Every setting; only those that the step uses count.
    instrument : Instrument
        Its places must be those of `state`.
    site : SiteValues
        The department's limits: temperature cap, dose, times, water.
    operations : Operations
        `SCALAR` for floats; `scoring.bench.arrays.ARRAYS` when the numbers of
        `state` and `handling` are arrays of one shape.

    Returns
    -------
    State

    Raises
    ------
    KeyError
        There is no such step, or a place of the instrument is not in `state`.
    """
    return _STEPS[step](state, handling, instrument, site, operations)
