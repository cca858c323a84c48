"""One name for each process of the bench, and the function that runs it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scoring.bench import (
    brushing,
    chemistry,
    drying,
    exposure,
    lubricating,
    lumen,
    machines,
    rinsing,
    soiling,
    wearing,
    wetness,
    wiping,
)
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
    moist = ops.where(handling.saline, True, handling.moist)
    soil = {
        name: drying.dried_on(amounts, handling.minutes, moist, ops)
        for name, amounts in state.soil.items()
    }
    salts = ops.where(handling.saline, drying.saline_salts_mg(instrument.carried_ml), 0.0)
    return state.changed(
        soil=soil,
        ions_mg=ops.maximum(state.ions_mg, salts),
        damage=wearing.pitted(state.damage, handling, ops),
    )


def _soak(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    rates = chemistry.bath_rates(handling, site, ops)
    left_by_kind: dict[str, tuple[Any, chemistry.Shares]] = {}
    soil = {}
    for name, place in instrument.places.items():
        if place.kind not in left_by_kind:
            contact = bath_contact(place.kind, handling, ops)
            left_by_kind[place.kind] = (
                contact, chemistry.shares(rates, contact, handling.minutes, ops)
            )  # fmt: skip
        contact, left = left_by_kind[place.kind]
        soil[name] = chemistry.soaked(state.soil[name], left, ops)
        film = soiling.film_ug(place, handling, instrument, contact)
        soil[name]["fresh"] = soil[name]["fresh"] + film
    carried = instrument.carried_ml
    vapour = exposure.vapour(handling, ops)
    in_bath = ops.exp(-rates.fat * handling.minutes)
    soaked = state.changed(
        soil=soil,
        residue_mg=rinsing.cleaner_carried(carried, handling, site, ops),
        ions_mg=rinsing.salts_mg(carried, site.rinse.tap_salts_mg_per_l),
        endotoxin_eu=carried * site.rinse.tap_endotoxin_eu_per_ml,
        water_ml=carried,
        oil_mg=state.oil_mg * in_bath,
        lubricated=lubricating.rinsed_off(state.lubricated, state.oil_mg, handling.minutes, ops),
        droplets=state.droplets + vapour,
        above=state.above + vapour,
        exposure=state.exposure + exposure.breathed(vapour, handling, ops),
        damage=wearing.worn_by_bath(state.damage, handling, instrument, site, ops),
    )
    return wearing.let_in(
        soaked, ops.where(handling.immersed, wearing.FULL.value, 0.0), instrument, ops
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
            left = brushing.left_after_strokes(touching, handling, site, ops)
            if place.kind == "lumen":
                left = brushing.in_whole_lumen(left, handling, ops)
            left_by_touch[shape] = left
        left = left_by_touch[shape]
        level = soiling.brush_level_ug(place, handling, instrument, ops)
        soil[name] = brushing.with_brush_soil(
            brushing.brushed(state.soil[name], left), left["fresh"], level
        )
    under = handling.under_water
    thrown = exposure.droplets_from(handling.strokes, exposure.STROKE.value, under, ops)
    damage = brushing.scratched(state.damage, handling, ops)
    return _splashed(state, thrown, under, exposure.aimed(handling, ops), handling, ops).changed(
        soil=soil,
        oil_mg=state.oil_mg * brushing.oil_left(handling, site, ops),
        damage=wearing.bent_by_strokes(damage, handling, instrument, ops),
    )


def _flush(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    soil = dict(state.soil)
    for name, line_share in lumen.line_shares(instrument, handling, ops).items():
        left = lumen.left_after_flush(instrument.places[name], handling, ops, line_share)
        soil[name] = brushing.brushed(state.soil[name], left)
    under = ops.where(handling.under_water, handling.far_end_under, False)
    thrown = exposure.droplets_from(handling.flush_ml, exposure.FLUSH.value, under, ops)
    return _splashed(state, thrown, under, 1.0, handling, ops).changed(
        soil=soil,
        water_ml=wetness.flushed_in(state.water_ml, handling, instrument, ops),
        damage=wearing.burst(state.damage, handling, instrument, ops),
    )


def _rinse(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    carried, rinse = instrument.carried_ml, site.rinse
    fills = rinsing.fills_that_dilute(
        handling.rinses, handling.fresh_rinse, ops, handling.rinse_way
    )
    last = rinsing.last_rinse(handling, ops)
    done = handling.rinses + last.any
    loose = {
        kind: rinsing.loose_left(kind, fills, last, handling, ops)
        for kind in {place.kind for place in instrument.places.values()}
    }
    soil = {
        name: {**state.soil[name], "fresh": state.soil[name]["fresh"] * loose[place.kind]}
        for name, place in instrument.places.items()
    }
    cleaner = rinsing.series(carried, rinsing.HELD.value, fills, last, handling, instrument, ops)
    solved = rinsing.series(
        carried, rinsing.HELD_SALTS.value, fills, last, handling, instrument, ops
    )
    tap_eu, pure_eu = rinse.tap_endotoxin_eu_per_ml, rinse.treated_endotoxin_eu_per_ml
    pure_eu = pure_eu + last.stale * max(rinsing.STALE.value - pure_eu, 0.0)
    rinsed = state.changed(
        soil=soil,
        residue_mg=state.residue_mg * cleaner.in_tap * cleaner.in_last,
        ions_mg=solved.towards(
            state.ions_mg,
            rinsing.salts_mg(carried, rinse.tap_salts_mg_per_l),
            rinsing.salts_mg(carried, rinse.treated_salts_mg_per_l),
        ),
        endotoxin_eu=solved.towards(state.endotoxin_eu, carried * tap_eu, carried * pure_eu),
        water_ml=ops.where(done > 0, carried, state.water_ml),
        lubricated=lubricating.rinsed_off(state.lubricated, state.oil_mg, done, ops),
    )
    open_ports = ops.where(handling.ports_closed, 0.0, wearing.TAP.value * done)
    immersed = ops.where(done > 0, wearing.FULL.value, 0.0)
    return wearing.let_in(
        rinsed, ops.where(handling.immersed, immersed, open_ports), instrument, ops
    )


def _inspect(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    return state


def _wipe(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    soil = {
        name: wiping.wiped_soil(place.kind, state.soil[name], handling, ops)
        for name, place in instrument.places.items()
    }
    wiped = wiping.wiped_film(state.changed(soil=soil), handling, instrument, site, ops)
    return wearing.let_in(wiped, wiping.let_in_ml(handling, ops), instrument, ops)


def _machine(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    soil = {
        name: machines.machined_soil(place.kind, state.soil[name], handling, ops)
        for name, place in instrument.places.items()
    }
    done = machines.machined_rest(state.changed(soil=soil), handling, instrument, site, ops)
    inside = wearing.FULL.value * machines.runs(handling, ops)
    return wearing.let_in(done, inside, instrument, ops)


def _dry_off(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    return state.changed(water_ml=wetness.dried_off(state.water_ml, handling, instrument, ops))


def _lubricate(
    state: State, handling: Handling, instrument: Instrument, site: SiteValues, ops: Operations
) -> State:
    return state.changed(
        oil_mg=lubricating.oiled(state.oil_mg, handling, instrument, ops),
        lubricated=lubricating.lubricated(state.lubricated, handling, ops),
    )


def _splashed(
    state: State, thrown: Any, under: Any, aimed: Any, handling: Handling, ops: Operations
) -> State:
    return state.changed(
        droplets=state.droplets + thrown,
        above=state.above + ops.where(under, 0.0, thrown),
        exposure=state.exposure + exposure.exposed(thrown * aimed, handling, ops),
    )


_STEPS: dict[str, _Run] = {
    "dry": _dry,
    "soak": _soak,
    "brush": _brush,
    "flush": _flush,
    "rinse": _rinse,
    "inspect": _inspect,
    "wipe": _wipe,
    "machine": _machine,
    "dry_off": _dry_off,
    "lubricate": _lubricate,
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
        ``dry``, ``soak``, ``brush``, ``flush``, ``rinse``, ``inspect``, ``wipe``,
        ``machine``, ``dry_off`` or ``lubricate``.
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
