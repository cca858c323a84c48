"""The rest of the work done by the book, from any moment of a play on.

So that the kit can say what a mistake would have let through, and a test can show that a scenario
played well ends clean. Doing again what was done already is harmless.
"""

from __future__ import annotations

from scoring.bench.handling import Handling
from scoring.bench.state import State
from scoring.bench.steps import run_step
from scoring.instance import Instance, site_names
from scoring.play import Moment

BATH_L = 10.0
"""Litres of the bath that is made up anew; the dose follows from it, so any would do."""

_DRESSED = {"eyes_covered": True, "gloves_thick": True, "gown_on": True, "mask_on": True}


def finish(instance: Instance, moment: Moment) -> Moment:
    """Return the moment after the rest of the work was done by the book.

    Parameters
    ----------
    instance : Instance
        Whose instrument and whose site's values.
    moment : Moment
        Where the play stands.

    Returns
    -------
    Moment
        After soak, brush, flush, rinses, drying and, where there are joints, a lubricant; or,
        for a device that must not be immersed, after wiping and brushing. What cannot be made
        good (fixed soil, damage, an oil film) is still there.

    Notes
    -----
    From the stations brush, rinse and inspect on nobody soaks again, and from rinse on nobody
    brushes again: the book goes on from where the work is.
    """
    wet = _wet if instance.instrument.immersible else _wiped
    return wet(instance, moment)


def _by_the_book(instance: Instance, handling: Handling) -> Handling:
    named = site_names(instance.site, BATH_L)
    return handling.changed(
        **_DRESSED,
        agent=named["site_agent"],
        bath_l=BATH_L,
        dose_ml=named["site_dose_ml"],
        temperature_c=named["site_temperature_c"],
        minutes=named["site_contact_min"],
        loads_before=0.0,
        mixed=False,
        heavy_on_top=False,
        opened=True,
        one_layer=True,
        immersed=True,
        lumen_filled=True,
        brush="soft_nylon",
        brush_clean=True,
        brush_through=True,
        supported=True,
        towards_body=False,
        strokes=named["site_strokes"],
        under_water=True,
        flush_ml=named["site_flush_ml"],
        far_end_under=True,
        flush_kpa=20.0,
        manifold=False,
        rinse_way="fill",
        rinses=named["site_rinses"],
        rinse_l=named["site_rinse_l"],
        fresh_rinse=True,
        last_water="treated",
        lubricant="water_soluble",
        dry_way="air",
    )


def _wet(instance: Instance, moment: Moment) -> Moment:
    handling = _by_the_book(instance, moment.handling)
    state = moment.state
    station = instance.scenario.station
    if station == "ready":
        state = _run(instance, "soak", state, handling)
    if station in ("ready", "soak"):
        state = _brushed(instance, state, handling)
        state = _run(instance, "flush", state, handling)
    if station in ("ready", "soak", "brush"):
        state = _run(instance, "rinse", state, handling)
    if station != "inspect":
        state = _run(instance, "dry_off", state, handling)
        if any(place.kind == "joint" for place in instance.instrument.places.values()):
            state = _run(instance, "lubricate", state, handling)
    return Moment(handling, state)


def _brushed(instance: Instance, state: State, handling: Handling) -> State:
    """Brush the outside, then each lumen with a brush of its own width."""
    bores = [place.bore_mm for place in instance.instrument.places.values()]
    for bore in dict.fromkeys(bores):
        width = handling.changed(brush_mm=bore or 0.0)
        state = _run(instance, "brush", state, width)
    return state


def _wiped(instance: Instance, moment: Moment) -> Moment:
    handling = _by_the_book(instance, moment.handling).changed(
        immersed=False, cloth="damp", ports_closed=True
    )
    state = moment.state
    wipes = {"wipes": handling.strokes}
    if instance.scenario.station in ("ready", "soak", "brush"):
        state = _run(instance, "wipe", state, handling.changed(cloth_agent=handling.agent, **wipes))
        state = _run(instance, "brush", state, handling.changed(under_water=False))
    if instance.scenario.station != "inspect":
        water = handling.changed(cloth_agent="plain_water", **wipes)
        state = _run(instance, "wipe", state, water)
    return Moment(handling, state)


def _run(instance: Instance, step: str, state: State, handling: Handling) -> State:
    return run_step(step, state, handling, instance.instrument, instance.site)
