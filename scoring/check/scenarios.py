"""A scenario against its instrument, its parameters, the catalogue and the units."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from scoring.bench.handling import Handling
from scoring.catalogue import facts, mistakes, subjects
from scoring.check.desk import CheckedFile, Desk, Where, sorted_words
from scoring.check.playing import playing_faults
from scoring.check.walk import Found, walk
from scoring.faults import Fault
from scoring.instrument import Instrument
from scoring.marking.keys import lacking_for, rule_unit
from scoring.scenario import SITE_NAMES, Quantity, Scenario
from scoring.units import base_unit, known_units
from scoring.wording import names_in

RESERVED = frozenset({"right", "wrong"})
"""Reasons of a whole answer; an item of that name could not be told from them."""

_SETTINGS = {setting.name: setting for setting in dataclasses.fields(Handling)}


def scenario_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find what the schema alone cannot see, and play it when its structure is sound."""
    scenario: Scenario = file.value
    yield from file.name_faults(scenario.id)
    yield from desk.doubled(file, scenario.id)
    if not file.path.with_name(f"{scenario.id}.en.yaml").exists():
        yield file.fault(
            (),
            "no words in English beside it",
            f"{scenario.id}.en.yaml in the same folder",
            "Write the words: every question, answer and reason.",
        )
    structure = [*_catalogue_faults(file), *_parameter_faults(file, desk), *_id_faults(file)]
    instrument = desk.instrument(scenario.instrument)
    if instrument is None:
        yield from structure
        yield from desk.missing(file, ("instrument",), "an instrument", scenario.instrument)
        return
    structure += _place_faults(file, instrument)
    structure += _quantity_faults(file, instrument)
    yield from structure
    if not structure:
        yield from playing_faults(file, instrument, desk)


def _catalogue_faults(file: CheckedFile) -> Iterator[Fault]:
    for found in walk(file.value):
        if found.field == "mistake" and found.value not in mistakes():
            yield _unknown(file, found, "a mistake", "mistakes.csv")
        elif found.field == "facts" and found.value not in facts():
            yield _unknown(file, found, "a fact", "facts.csv")
    topics = {topic for subject in subjects().values() for topic in subject.topic_ids}
    for number, decision in enumerate(file.value.decisions):
        if decision.topic not in topics:
            yield file.fault(
                ("decisions", number, "topic"),
                decision.topic,
                "one of: " + sorted_words(topics),
                "Use a topic of scoring/catalogue/subjects.csv.",
            )


def _unknown(file: CheckedFile, found: Found, what: str, table: str) -> Fault:
    return file.fault(
        found.where,
        found.value,
        f"the id of {what} in the catalogue",
        f"Check the id in scoring/catalogue/{table}.",
    )


def _parameter_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    scenario: Scenario = file.value
    used: set[str] = set()
    for found in walk(scenario):
        soil = found.where[0] == "start" and "soil" in found.where[1:3]
        handling = not {"handling", "handling_without"}.isdisjoint(found.where)
        if not (soil or handling) or isinstance(found.value, bool):
            continue
        values: tuple[float, ...] = ()
        if isinstance(found.value, str) and found.value.startswith("$"):
            name = found.value[1:]
            used.add(name)
            if name in scenario.parameters:
                values = scenario.parameters[name].choices
            elif not _site_name_fits(name, found.field, soil):
                names = scenario.parameters.keys() | {
                    name for name in SITE_NAMES if _site_name_fits(name, found.field, soil)
                }
                yield file.fault(
                    found.where,
                    found.value,
                    "a parameter or a fitting site value: " + sorted_words(names),
                    "Check the spelling, or add it to `parameters`.",
                )
        elif isinstance(found.value, float):
            values = (found.value,)
        yield from _range_faults(file, found.where, values, _range(found.field, soil))
    words = desk.words_of(file)
    for each in words:
        used |= names_in(each.model_dump_json())
    for name in sorted(scenario.parameters.keys() - used):
        if words:
            yield file.fault(
                ("parameters", name),
                "a parameter that nothing uses",
                f"${name} in this file or {{{name}}} in its words",
                "Use it, or take it out.",
            )


_SITE_UNITS = {
    "site_contact_min": "min",
    "site_dose_ml": "mL",
    "site_flush_ml": "mL",
    "site_light_lux": "lux",
    "site_rinse_l": "L",
    "site_rinses": "rinses",
    "site_strokes": "strokes",
    "site_temperature_c": "degC",
}
"""Units of the site's numbers, as their names say."""


def _site_name_fits(name: str, field: str, soil: bool) -> bool:
    """Whether a site value may stand here; the bath comes before the dose that is made for it."""
    if name not in SITE_NAMES or soil or field == "bath_l":
        return False
    if name == "site_agent":
        return field in ("agent", "cloth_agent")
    unit: str = _SETTINGS[field].metadata["unit"]
    return unit == _SITE_UNITS[name]


MOST_SOIL_UG = 1e6
"""One gram on one place is more than a picture could show. A working judgement."""


def _range(field: str, soil: bool) -> tuple[float, float]:
    if soil:
        return 0.0, MOST_SOIL_UG
    setting = _SETTINGS[field]
    return setting.metadata["low"], setting.metadata["high"]


def _range_faults(
    file: CheckedFile, where: Where, values: tuple[float, ...], bounds: tuple[float, float]
) -> Iterator[Fault]:
    low, high = bounds
    for value in values:
        if not low <= value <= high:
            yield file.fault(
                where,
                f"{value:g}",
                f"{low:g} to {high:g}",
                "Change the number or the parameter's choices.",
            )


def _id_faults(file: CheckedFile) -> Iterator[Fault]:
    for number, decision in enumerate(file.value.decisions):
        parts: tuple[Any, ...] = ()
        field = "items" if decision.kind == "order" else "ticks"
        if decision.kind in ("order", "choose_several"):
            parts = getattr(decision, field)
        for place, part in enumerate(parts):
            if part.id in RESERVED:
                yield file.fault(
                    ("decisions", number, field, place, "id"),
                    part.id,
                    "another name: `right` and `wrong` are said of the whole answer",
                    "Rename it here and in the words.",
                )
        if decision.kind == "order":
            pairs = [(rule.first, rule.then) for rule in decision.precedence]
            for place, pair in enumerate(pairs):
                if pair in pairs[:place]:
                    yield file.fault(
                        ("decisions", number, "precedence", place),
                        f"{pair[0]} before {pair[1]} for the second time",
                        "each precedence once",
                        "Take one of the two out.",
                    )


def _place_faults(file: CheckedFile, instrument: Instrument) -> Iterator[Fault]:
    start = file.value.start
    named: list[tuple[Where, str]] = [(("start", "soil", name), name) for name in start.soil]
    if start.scattered is not None:
        where: Where = ("start", "scattered", "places")
        names = start.scattered.places
        named += [((*where, number), name) for number, name in enumerate(names)]
        for number, name in enumerate(names):
            if name in names[:number]:
                yield file.fault(
                    (*where, number), name, "each place once", "Take one of the two out."
                )
    for where, name in named:
        if name not in instrument.places:
            yield file.fault(
                where,
                name,
                f"a place of {instrument.id}: " + sorted_words(set(instrument.places)),
                "Check the spelling, or name another instrument.",
            )


def _quantity_faults(file: CheckedFile, instrument: Instrument) -> Iterator[Fault]:
    for number, decision in enumerate(file.value.decisions):
        if decision.kind == "quantity":
            yield from _one_quantity(file, ("decisions", number), decision, instrument)


def _one_quantity(
    file: CheckedFile, where: Where, decision: Quantity, instrument: Instrument
) -> Iterator[Fault]:
    unit = rule_unit(decision.rule)
    fitting = [name for name in known_units() if base_unit(name) == unit]
    for number, name in enumerate(decision.units):
        if name not in fitting:
            yield file.fault(
                (*where, "units", number),
                name,
                f"a unit for {decision.rule}: " + ", ".join(fitting),
                "Check the spelling, or take the unit out.",
            )
    if unit not in decision.units:
        # The right answer is said in this unit, so it must be one that can be given.
        yield file.fault(
            (*where, "units"), ", ".join(decision.units), f"{unit} among them", f"Add {unit}."
        )
    if _SETTINGS[decision.sets].metadata["unit"] != unit:
        yield file.fault(
            (*where, "sets"),
            decision.sets,
            f"a setting in {unit}, as {decision.rule} is",
            "Choose the setting that belongs to the rule.",
        )
    lacking = lacking_for(decision.rule, instrument, decision.place)
    if lacking:
        yield file.fault(
            (*where, "rule" if decision.place is None else "place"),
            decision.place or decision.rule,
            f"what {decision.rule} is for: {lacking}",
            "Choose another rule or lumen, or another instrument.",
        )
