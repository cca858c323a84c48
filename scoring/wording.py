"""Filling the ``{name}`` of a sentence with this sitting's numbers and the site's values.

What is filled in is numbers, unit symbols and names from the site file, never a
word of a language: words live in the words files alone.
"""

from __future__ import annotations

import math
import re

from scoring.faults import FaultError
from scoring.instance import Instance
from scoring.instrument import Instrument
from scoring.marking.keys import QuantityKey
from scoring.site import SiteValues
from scoring.units import from_base_unit

PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
"""What a placeholder looks like; any other brace is ordinary text."""

LITRES_PER_US_GALLON = 3.785411784
"""231 cubic inches exactly (NIST Handbook 44, App. C); from memory, checked by arithmetic."""

_US_UNITS = {"degC": "degF", "mL": "fl oz"}
"""What a department with US units reads first; brush widths are sold in millimetres there too."""

ROUNDING = 1e-9
"""So that 1.5 bar, worked out as 1.4999..., is said as 1.5. A choice of this kit."""

_SYMBOLS = {"degC": "°C", "degF": "°F", "rinses": "", "strokes": ""}


def fill_words(text: str, instance: Instance) -> str:
    """Return `text` with every ``{name}`` replaced.

    Parameters
    ----------
    text : str
        A sentence of a words file.
    instance : Instance
        The scenario as this sitting meets it.

    Returns
    -------
    str

    Raises
    ------
    FaultError
        A name is not in :func:`wording_table`.
    """
    table = wording_table(instance)

    def word(match: re.Match[str]) -> str:
        name = match.group(1)
        if name not in table:
            raise FaultError.one(
                f"words of scenario {instance.scenario.id}",
                match.group(0),
                found="a name that nothing fills in",
                wanted="one of " + ", ".join(table),
                remedy="Check the spelling of the name between the braces.",
            )
        return table[name]

    return PLACEHOLDER.sub(word, text)


def names_in(text: str) -> frozenset[str]:
    """Return the names of the placeholders that `text` uses."""
    return frozenset(PLACEHOLDER.findall(text))


def is_key_name(name: str) -> bool:
    """Say whether a placeholder gives away an answer, so that it may stand in reasons only."""
    return name == "soiled_count" or name.startswith("right_")


def wording_table(instance: Instance) -> dict[str, str]:
    """Return what each placeholder stands for.

    Returns
    -------
    dict of str to str
        The scenario's parameters by name; the site's values as ``site_…``;
        ``bath`` with its unit; for each lumen ``bore_<place>``, ``length_<place>``
        and ``pressure_<place>`` with their units; ``right_<decision>``, the right amount of a
        quantity with its symbol, and ``soiled_count``, the number of soiled
        places: these two for reasons only (:func:`is_key_name`).
    """
    site = instance.site
    table = {name: said_number(value) for name, value in instance.values.items()}
    table["bath"] = _said_litres(instance.handling.bath_l, site)
    table |= _site_words(site)
    table |= _lumen_words(instance.instrument)
    table["soiled_count"] = str(len(instance.soiled))
    for decision, key in instance.keys.items():
        asked = instance.scenario.decision(decision)
        dose = asked.kind == "quantity" and asked.rule == "dose"
        said = _said_dose if dose else _said_window
        table[f"right_{decision}"] = said(key, site)
    return table


def said_number(value: float, digits: int = 2) -> str:
    """Write a number without needless zeros: 5.0 as ``5``, 7.8125 as ``7.81``."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _site_words(site: SiteValues) -> dict[str, str]:
    cleaner, rinse, brushing = site.cleaner, site.rinse, site.brushing
    dose = f"{said_number(cleaner.dose_ml_per_l)} mL/L"
    if site.units == "us":
        ounces = from_base_unit(cleaner.dose_ml_per_l * LITRES_PER_US_GALLON, "fl oz")
        dose = f"{said_number(ounces)} fl oz/gal ({dose})"
    low, high = cleaner.temperature_min_c, cleaner.temperature_max_c
    return {
        "site_name": site.name,
        "site_label": cleaner.label,
        "site_dose_ml_per_l": said_number(cleaner.dose_ml_per_l),
        "site_dose": dose,
        "site_contact_min": said_number(cleaner.contact_min),
        "site_contact_max": said_number(cleaner.contact_max),
        "site_temperature_min_c": said_number(low),
        "site_temperature_max_c": said_number(high),
        "site_temperature": _said_window(QuantityKey(low, low, high, high, "degC"), site),
        "site_tap_min": str(rinse.tap_min),
        "site_tap_max": str(rinse.tap_max),
        "site_rinse_l": _said_litres(rinse.litres, site),
        "site_bays": str(rinse.bays),
        "site_strokes_min": str(brushing.strokes_min),
        "site_strokes_max": str(brushing.strokes_max),
        "site_flush_min": said_number(site.flushing.ml_min),
        "site_flush_max": said_number(site.flushing.ml_max),
        "site_light_min": said_number(site.inspection.light_min_lux),
        "site_light_max": said_number(site.inspection.light_max_lux),
        "site_magnification": said_number(site.inspection.magnification),
        "site_protein_limit": f"{said_number(site.limits.protein_ug_per_cm2)} µg/cm²",
    }


def _lumen_words(instrument: Instrument) -> dict[str, str]:
    """Return what the instrument file says of each lumen, so that no sentence repeats it."""
    words = {}
    for name, place in instrument.places.items():
        for what, amount in (("bore", place.bore_mm), ("length", place.length_mm)):
            if amount is not None:
                words[f"{what}_{name}"] = f"{said_number(amount)} mm"
        if place.pressure_max_kpa is not None:
            words[f"pressure_{name}"] = _said_limit(place.pressure_max_kpa)
    return words


def _said_limit(kpa: float) -> str:
    """Say a highest pressure in every unit of a gauge, rounded down: never above the limit."""
    psi = math.floor(from_base_unit(kpa, "psi") * 10.0) / 10.0
    bar = math.floor(from_base_unit(kpa, "bar") * 100.0 + ROUNDING) / 100.0
    return f"{said_number(kpa)} kPa ({said_number(bar)} bar, {said_number(psi, 1)} psi)"


def _said_litres(litres: float, site: SiteValues) -> str:
    said = f"{said_number(litres)} L"
    if site.units == "us":
        said += f" ({said_number(litres / LITRES_PER_US_GALLON)} gal)"
    return said


def _said_window(key: QuantityKey, site: SiteValues) -> str:
    """Say a window in the unit its people read, with the other one in brackets."""
    metric = _range(key, key.unit)
    other = _US_UNITS.get(key.unit)
    if site.units == "us" and key.unit == "kPa":
        psi = (from_base_unit(key.low, "psi"), from_base_unit(key.high, "psi"))
        # Inwards, so that no number told lies outside the window.
        low, high = math.ceil(psi[0] * 10.0) / 10.0, math.floor(psi[1] * 10.0) / 10.0
        return f"{said_number(low, 1)}\N{EN DASH}{said_number(high, 1)} psi ({metric})"
    if site.units == "us" and other is not None:
        return f"{_range(key, other, digits=0 if other == 'degF' else 1)} ({metric})"
    return metric


def _said_dose(key: QuantityKey, site: SiteValues) -> str:
    """Say the right amount itself first, then in brackets what counts as right."""
    middle = (key.low + key.high) / 2.0
    metric = f"{said_number(middle, 1)} {key.unit}"
    if site.units != "us":
        return f"{metric} ({_range(key, key.unit)})"
    ounces = said_number(from_base_unit(middle, "fl oz"), 1)
    return f"{ounces} fl oz, {metric} ({_range(key, 'fl oz')}, {_range(key, key.unit)})"


def _range(key: QuantityKey, unit: str, digits: int = 1) -> str:
    """Say a window in `unit`; things that are counted have no symbol."""
    first, last = (said_number(from_base_unit(end, unit), digits) for end in (key.low, key.high))
    numbers = first if first == last else f"{first}\N{EN DASH}{last}"
    return f"{numbers} {_SYMBOLS.get(unit, unit)}".strip()
