"""A scenario made concrete: one site, one seed, every `$name` a number."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from scoring.bench.handling import Handling
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.instrument import Instrument
from scoring.marking.keys import QuantityKey, quantity_key
from scoring.scenario import Scenario
from scoring.site import SiteValues


@dataclass(frozen=True)
class Instance:
    """A scenario as one sitting meets it.

    Attributes
    ----------
    scenario, instrument, site
        What it was made from.
    seed : int
        The seed that drew it.
    values : dict of str to float
        The parameters, by name.
    handling : Handling
        The handling before the first decision.
    keys : dict of str to QuantityKey
        For each quantity decision, what is right here.

    Notes
    -----
    `state`, `soiled` and `answer_order` are drawn when first asked for: marking
    a choice needs none of them.
    """

    scenario: Scenario
    instrument: Instrument
    site: SiteValues
    seed: int
    values: dict[str, float]
    handling: Handling
    keys: dict[str, QuantityKey]

    @cached_property
    def named(self) -> dict[str, Any]:
        """What every ``$name`` of the scenario stands for: its parameters and the site's values."""
        return {**site_names(self.site, self.handling.bath_l), **self.values}

    @cached_property
    def state(self) -> State:
        """The instrument before the first decision.

        Raises
        ------
        KeyError
            A `$name` is no parameter, or a place is none of the instrument's.
        """
        state = _start_state(self.scenario, self.instrument, self.seed, self.values)
        for past in self.scenario.start.history:
            handling = self.handling.changed(**filled(past.handling.settings(), self.named))
            state = run_step(past.step, state, handling, self.instrument, self.site)
        return state

    @cached_property
    def soiled(self) -> frozenset[str]:
        """Places that are soiled, by the site's limit, before the first decision."""
        return soiled_places(self.state, self.instrument, self.site)

    @cached_property
    def answer_order(self) -> dict[str, tuple[str, ...]]:
        """For each decision the ids of its answers, in the order they are shown."""
        return _answer_orders(self.scenario, self.seed)


def draw(seed: int, *names: str) -> float:
    """Return a number in [0, 1) that depends on the seed and the names alone.

    A digest and not a generator, so that adding a parameter to a scenario does
    not change the others, and no version of Python changes any.
    """
    text = "/".join((str(seed), *names))
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:7], "big") / 2.0**56


def make_instance(
    scenario: Scenario, instrument: Instrument, site: SiteValues, seed: int
) -> Instance:
    """Draw the instance of `scenario` for `seed` under `site`.

    Parameters
    ----------
    scenario : Scenario
    instrument : Instrument
        The one that the scenario names.
    site : SiteValues
        The department whose label, limits and rules make an answer right.
    seed : int
        Any whole number; the same seed gives the same instance on every machine.

    Returns
    -------
    Instance

    Raises
    ------
    KeyError
        A `$name` is no parameter. `sinkside check` finds it before anybody sits
        the scenario.
    """
    values = {
        name: parameter.choices[int(draw(seed, scenario.id, name) * len(parameter.choices))]
        for name, parameter in scenario.parameters.items()
    }
    handling = _start_handling(scenario, site, values)
    return Instance(
        scenario=scenario,
        instrument=instrument,
        site=site,
        seed=seed,
        values=values,
        handling=handling,
        keys={
            decision.id: quantity_key(decision.rule, handling, instrument, site, decision.place)
            for decision in scenario.decisions
            if decision.kind == "quantity"
        },
    )


def soiled_places(state: State, instrument: Instrument, site: SiteValues) -> frozenset[str]:
    """Return the places whose protein, or bone, is above the site's limit."""
    limit = site.limits.protein_ug_per_cm2
    return frozenset(
        name
        for name, place in instrument.places.items()
        if (state.protein_ug(name) + state.soil[name]["bone"]) / place.area_cm2 > limit
    )


def site_names(site: SiteValues, bath_l: float) -> dict[str, Any]:
    """Return the ``$name`` values that every scenario may use without drawing them.

    Parameters
    ----------
    site : SiteValues
    bath_l : float
        Litres of the bath as the scenario starts; the dose is for this bath.
    """
    cleaner = site.cleaner
    return {
        "site_agent": cleaner.agent,
        "site_dose_ml": bath_l * cleaner.dose_ml_per_l,
        "site_temperature_c": (cleaner.temperature_min_c + cleaner.temperature_max_c) / 2,
        "site_contact_min": cleaner.contact_min,
        "site_flush_ml": (site.flushing.ml_min + site.flushing.ml_max) / 2,
        "site_light_lux": (site.inspection.light_min_lux + site.inspection.light_max_lux) / 2,
        "site_rinse_l": site.rinse.litres,
        "site_rinses": float(site.rinse.tap_max),
        "site_strokes": float(site.brushing.strokes_min + site.brushing.strokes_max) // 2,
    }


def _start_handling(scenario: Scenario, site: SiteValues, values: dict[str, float]) -> Handling:
    settings = scenario.start.handling.settings()
    bath_l = filled({"bath_l": settings.get("bath_l", Handling().bath_l)}, values)["bath_l"]
    return Handling(**filled(settings, {**site_names(site, bath_l), **values}))


def filled(settings: Mapping[Any, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """Replace each ``$name`` by its value."""
    return {
        name: values[value[1:]] if isinstance(value, str) and value.startswith("$") else value
        for name, value in settings.items()
    }


def _start_state(
    scenario: Scenario, instrument: Instrument, seed: int, values: dict[str, float]
) -> State:
    soil = {place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument.places}
    for place, amounts in scenario.start.soil.items():
        soil[place].update(filled(amounts, values))
    scattered = scenario.start.scattered
    if scattered is not None:
        drawn = sorted(scattered.places, key=lambda place: draw(seed, scenario.id, "soil", place))
        for place in drawn[: scattered.how_many]:
            for kind, amount in filled(scattered.soil, values).items():
                soil[place][kind] += amount
    return State(soil=soil)


def _answer_orders(scenario: Scenario, seed: int) -> dict[str, tuple[str, ...]]:
    orders = {}
    for decision in scenario.decisions:
        parts: tuple[Any, ...] = ()
        if decision.kind == "choose_one":
            parts = decision.options
        elif decision.kind == "choose_several":
            parts = decision.ticks
        elif decision.kind == "order":
            parts = decision.items
        ids = [part.id for part in parts]
        orders[decision.id] = tuple(
            sorted(ids, key=lambda name: draw(seed, scenario.id, decision.id, name))
        )
        if decision.kind == "order" and orders[decision.id] == tuple(ids):
            orders[decision.id] = tuple(reversed(ids))
    return orders
