"""Filling the ``{name}`` of a sentence with this sitting's numbers and the site's values."""

from __future__ import annotations

import re

from scoring.faults import FaultError
from scoring.instance import Instance
from scoring.marking.keys import QuantityKey
from scoring.site import SiteValues
from scoring.units import from_base_unit

PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
"""What a placeholder looks like; any other brace is ordinary text."""

LITRES_PER_US_GALLON = 3.785411784
"""231 cubic inches exactly (NIST Handbook 44, App. C); from memory, checked by arithmetic."""

_SHOWN_UNIT = {"degC": "°C", "degF": "°F"}


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
        ``bath`` with its unit; ``right_<decision>``, the right amount of a
        quantity with its unit, and ``soiled_count``, the number of soiled
        places: these two for reasons only (:func:`is_key_name`).
    """
    site = instance.site
    table = {name: said_number(value) for name, value in instance.values.items()}
    table["bath"] = _said_litres(instance.handling.bath_l, site)
    table |= _site_words(site)
    table["soiled_count"] = str(len(instance.soiled))
    for decision, key in instance.keys.items():
        table[f"right_{decision}"] = _said_window(key, site)
    return table


def said_number(value: float, digits: int = 2) -> str:
    """Write a number without needless zeros: 5.0 as ``5``, 7.8125 as ``7.81``."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _site_words(site: SiteValues) -> dict[str, str]:
    cleaner, rinse, brushing = site.cleaner, site.rinse, site.brushing
    dose = f"{said_number(cleaner.dose_ml_per_l)} mL per litre"
    if site.units == "us":
        ounces = from_base_unit(cleaner.dose_ml_per_l * LITRES_PER_US_GALLON, "fl oz")
        dose = f"{said_number(ounces)} fl oz per US gallon ({dose})"
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
        "site_bays": {2: "two", 3: "three"}[rinse.bays],
        "site_strokes_min": str(brushing.strokes_min),
        "site_strokes_max": str(brushing.strokes_max),
        "site_protein_limit": f"{said_number(site.limits.protein_ug_per_cm2)} µg per cm²",
    }


def _said_litres(litres: float, site: SiteValues) -> str:
    said = f"{said_number(litres)} L"
    if site.units == "us":
        said += f" ({said_number(litres / LITRES_PER_US_GALLON)} US gallons)"
    return said


def _said_window(key: QuantityKey, site: SiteValues) -> str:
    """Say a window in the unit its people read, with the other one in brackets."""
    metric = _range(key.low, key.high, key.unit)
    if site.units != "us" or key.unit not in {"degC", "mL"}:
        return metric
    unit = {"degC": "degF", "mL": "fl oz"}[key.unit]
    digits = 0 if unit == "degF" else 1
    local = _range(from_base_unit(key.low, unit), from_base_unit(key.high, unit), unit, digits)
    return f"{local} ({metric})"


def _range(low: float, high: float, unit: str, digits: int = 1) -> str:
    first, last = said_number(low, digits), said_number(high, digits)
    numbers = first if first == last else f"{first} to {last}"
    return f"{numbers} {_SHOWN_UNIT.get(unit, unit)}"
