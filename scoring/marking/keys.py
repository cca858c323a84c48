"""What quantity is right here: computed from the handling, the instrument and the site's values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from scoring.bench.handling import Handling
from scoring.bench.lumen import NO_FIT
from scoring.instrument import Instrument
from scoring.scenario import QuantityRule
from scoring.site import SiteValues


@dataclass(frozen=True, slots=True)
class QuantityKey:
    """Where a quantity earns what credit, in the bench's unit.

    Full credit from `low` to `high`, falling linearly to none at `floor` below
    and `ceiling` above.
    """

    floor: float
    low: float
    high: float
    ceiling: float
    unit: str


FALL = 0.5
"""Credit reaches zero half the right value away from the window. A working judgement, no source."""


def _window(low: float, high: float, unit: str) -> QuantityKey:
    return QuantityKey(low * (1 - FALL), low, high, high * (1 + FALL), unit)


def _dose(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    right = handling.bath_l * site.cleaner.dose_ml_per_l
    slack = right * site.cleaner.dose_tolerance
    return _window(right - slack, right + slack, "mL")


def _contact_time(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    return _window(site.cleaner.contact_min, site.cleaner.contact_max, "min")


def _temperature(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    low, high = site.cleaner.temperature_min_c, site.cleaner.temperature_max_c
    return QuantityKey(low - 10.0, low, high, high + 5.0, "degC")


def _rinses(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    return QuantityKey(
        0.0,
        float(site.rinse.tap_min),
        float(site.rinse.tap_max),
        site.rinse.tap_max + 4.0,
        "rinses",
    )


def _brush_width(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    bores = [place.bore_mm for place in instrument.places.values() if place.bore_mm is not None]
    if not bores:
        raise ValueError(f"instrument {instrument.id!r} has no lumen, so no brush width is right")
    bore = bores[0]
    slack = bore * site.brushing.fit_tolerance
    # No credit where the bench's brush touches nothing: a brush two thirds of the bore is not
    # nearly right, although two thirds of a dose is.
    off = max(bore * NO_FIT.value, slack)
    return QuantityKey(bore - off, bore - slack, bore + slack, bore + off, "mm")


def _strokes(handling: Handling, instrument: Instrument, site: SiteValues) -> QuantityKey:
    return _window(float(site.brushing.strokes_min), float(site.brushing.strokes_max), "strokes")


_RULES: dict[
    QuantityRule, tuple[str, Callable[[Handling, Instrument, SiteValues], QuantityKey]]
] = {
    "dose": ("mL", _dose),
    "contact_time": ("min", _contact_time),
    "temperature": ("degC", _temperature),
    "rinses": ("rinses", _rinses),
    "brush_width": ("mm", _brush_width),
    "strokes": ("strokes", _strokes),
}


def rule_unit(rule: QuantityRule) -> str:
    """Return the bench's unit of the quantity that `rule` computes."""
    return _RULES[rule][0]


def quantity_key(
    rule: QuantityRule, handling: Handling, instrument: Instrument, site: SiteValues
) -> QuantityKey:
    """Return the key of `rule` for this instance.

    Raises
    ------
    ValueError
        The rule does not fit the instrument.
    """
    return _RULES[rule][1](handling, instrument, site)
