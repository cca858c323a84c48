"""Finishing: the rest of the work done by the book, to see what would have reached the patient.

A scenario ends where its last decision does. From there the book goes on with the
site's values: what belongs to later stations, and nothing that the person has
already done, so that a mistake is neither repeated nor mended. It looks for no soil and goes
no second round: soil that was fixed before the first decision stays after good work,
and then the right end is another round, or to set the instrument aside.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from scoring.bench.handling import Handling
from scoring.bench.lumen import PRESSURE
from scoring.bench.outcomes import Outcome, limit_of, outcome
from scoring.bench.steps import run_step
from scoring.instance import Instance, site_names
from scoring.instrument import Instrument
from scoring.marking.right import right_answer
from scoring.model import Station
from scoring.play import Moment, after
from scoring.scenario import Decision
from scoring.site import SiteValues

_IN_THE_SINK = ("soak", "brush", "flush", "rinse", "dry_off", "lubricate")
_BY_CLOTH = ("wipe", "brush", "wipe_water", "dry_off", "lubricate")
_FROM: dict[Station, tuple[str, str]] = {
    "ready": ("soak", "wipe"),
    "soak": ("soak", "wipe"),
    "brush": ("brush", "brush"),
    "rinse": ("rinse", "wipe_water"),
    "inspect": ("dry_off", "dry_off"),
}
"""Where the work of a station begins, in the sink and by cloth."""

_BEFORE_RINSE = "machine"
"""A machine stands where the flush stands: an ultrasonic bath is followed by a rinse."""


@dataclass(frozen=True, slots=True)
class Task:
    """One step of the work by the book, with the handling it is done with."""

    step: str
    handling: Handling


def finish(instance: Instance, moment: Moment, decided: int | None = None) -> Moment:
    """Return the moment when the rest of the work has been done by the book.

    Parameters
    ----------
    instance : Instance
        The scenario being played.
    moment : Moment
        After the last decision, or after the first `decided` of them.
    decided : int, optional
        How many decisions have been answered; all of them when left out. The
        others are then answered rightly before the book goes on.

    Returns
    -------
    Moment
        `moment` itself when nothing is left to do.
    """
    decisions = instance.scenario.decisions
    for decision in decisions[len(decisions) if decided is None else decided :]:
        moment = after(instance, decision, right_answer(decision, instance), moment)
    tasks = by_the_book(
        instance.instrument,
        instance.site,
        moment.handling.bath_l,
        parts=left_to_do(instance),
    )
    for task in tasks:
        state = run_step(task.step, moment.state, task.handling, instance.instrument, instance.site)
        moment = Moment(task.handling, state)
    return moment


def left_to_do(instance: Instance) -> tuple[str, ...]:
    """Return the parts of the work that the scenario leaves to others, in their order.

    Parameters
    ----------
    instance : Instance
        Its station, its history and the steps of its decisions count.

    Notes
    -----
    Before the bath begins (station ``ready``) everything is left to do. At a
    later station the work begins with that station's own part. A part that was
    done is not done again, but everything that follows the last part done, or
    the first part missing, is: brushed again means rinsed again.
    """
    parts = _IN_THE_SINK if instance.instrument.immersible else _BY_CLOTH
    station = instance.scenario.station
    begin = parts.index(_FROM[station][0 if instance.instrument.immersible else 1])
    if station == "ready":
        return parts
    history = [past.step for past in instance.scenario.start.history]
    own = [step for one in instance.scenario.decisions for step in _steps_of(one)]
    done = [place for place in (_place(step, parts) for step in history + own) if place >= begin]
    missing = [place for place in range(begin, len(parts)) if place not in done]
    last = [place for place in (_place(step, parts) for step in own) if place >= 0][-1:]
    following = [place + 1 for place in last]
    return parts[min([*missing, *following, len(parts)]) :]


def _steps_of(decision: Decision) -> Iterator[str]:
    if decision.kind == "order":
        yield from (item.step for item in decision.items if item.step is not None)
    if decision.step is not None:
        yield decision.step


def _place(step: str, parts: tuple[str, ...]) -> int:
    if step == _BEFORE_RINSE:
        return parts.index("flush") if "flush" in parts else parts.index("brush")
    if step == "rinse" and step not in parts:
        return parts.index("wipe_water")
    return parts.index(step) if step in parts else -1


def by_the_book(
    instrument: Instrument,
    site: SiteValues,
    bath_l: float,
    parts: tuple[str, ...] | None = None,
) -> tuple[Task, ...]:
    """Return the work on an instrument with the site's values.

    Parameters
    ----------
    instrument : Instrument
        One that must not be immersed is wiped; each lumen gets a brush of its own width.
    site : SiteValues
    bath_l : float
        Water in the bath, litres, above 0.
    parts : tuple of str, optional
        Parts of the work, as `left_to_do` names them; the whole work when left out.

    Returns
    -------
    tuple of Task
        In the order of the work.
    """
    handling = _book_handling(instrument, site, bath_l)
    whole = _IN_THE_SINK if instrument.immersible else _BY_CLOTH
    return tuple(
        task
        for part in (whole if parts is None else parts)
        for task in _tasks(part, handling, instrument, site)
    )


def _book_handling(instrument: Instrument, site: SiteValues, bath_l: float) -> Handling:
    named: dict[str, Any] = site_names(site, bath_l)
    lumens = [place for place in instrument.places.values() if place.kind == "lumen"]
    limits = [one.pressure_max_kpa for one in lumens if one.pressure_max_kpa is not None]
    return Handling(
        agent=named["site_agent"],
        dose_ml=named["site_dose_ml"],
        bath_l=bath_l,
        temperature_c=named["site_temperature_c"],
        minutes=named["site_contact_min"],
        opened=True,
        immersed=instrument.immersible,
        # What must not go into the water is brushed above it.
        under_water=instrument.immersible,
        brush="soft_nylon",
        strokes=named["site_strokes"],
        inner_joint=True,
        flush_ml=named["site_flush_ml"] if lumens else 0.0,
        # The pressure that the bench's flush is scaled on, unless a lumen bears less.
        flush_kpa=min([PRESSURE.standard, *limits]),
        rinses=named["site_rinses"],
        rinse_l=named["site_rinse_l"],
        last_water="treated",
        light_lux=named["site_light_lux"],
        magnification=site.inspection.magnification,
        borescope=bool(lumens),
        dry_way="air" if lumens else "cloth",
        eyes_covered=True,
        gloves_thick=True,
        gown_on=True,
        mask_on=True,
    )


def _tasks(
    part: str, handling: Handling, instrument: Instrument, site: SiteValues
) -> Iterator[Task]:
    bores = sorted({place.bore_mm for place in instrument.places.values() if place.bore_mm})
    wiping = handling.changed(cloth="damp", wipes=handling.strokes)
    if part == "wipe":
        yield Task("wipe", wiping.changed(cloth_agent=site.cleaner.agent))
    elif part == "wipe_water":
        yield Task("wipe", wiping.changed(cloth_agent="plain_water"))
    elif part == "brush":
        for bore in bores:
            yield Task("flush", handling)
            yield Task("brush", handling.changed(brush_mm=bore))
        if not bores:
            yield Task("brush", handling)
    elif part == "flush":
        if bores:
            yield Task("flush", handling)
    elif part == "lubricate":
        if any(place.kind == "joint" for place in instrument.places.values()):
            yield Task("lubricate", handling.changed(lubricant="water_soluble"))
    else:
        yield Task(part, handling)


def allowed(instance: Instance) -> dict[Outcome, float]:
    """Return how much of each outcome an instrument may carry when it goes on.

    Returns
    -------
    dict of Outcome to float
        The site's limits, in the units of `scoring.bench.outcomes.UNITS`; of oil
        `NO_OIL_MG`; of damage and of water inside what was there at the start.
    """
    start = instance.state
    limits: dict[Outcome, float] = {
        which: limit for which in _HELD_TO if (limit := limit_of(which, instance.site)) is not None
    }
    return limits | {"damage": start.damage, "oil_mg": NO_OIL_MG, "inside_ml": start.inside_ml}


def over_limits(instance: Instance, moment: Moment) -> dict[Outcome, float]:
    """Return what is not as it should be when the instrument goes on, by name.

    Returns
    -------
    dict of Outcome to float
        Each outcome of `allowed` that is above it; protein and bone are those of
        the worst place. Empty when all is well.
    """
    found: dict[Outcome, float] = {}
    for which, most in allowed(instance).items():
        amount = float(outcome(which, moment.state, instance.instrument))
        if amount > most:
            found[which] = amount
    return found


_HELD_TO: tuple[Outcome, ...] = ("protein", "bone", "residue_mg", "ions_mg", "endotoxin_eu")
NO_OIL_MG = 0.1
"""A film of oil up to this, mg, is taken as none: it is below a hundredth of what oiling leaves on
one joint (`scoring.bench.lubricating.OIL`). Assumption."""
