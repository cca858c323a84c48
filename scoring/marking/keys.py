"""What quantity is right here: computed from the handling, the instrument and the site's values."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from scoring.bench.handling import Handling
from scoring.bench.lumen import NO_FIT
from scoring.instrument import Instrument, Place
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


_Lumens = tuple[Place, ...]

FALL = 0.5
"""Credit reaches zero half the right value away from the window. A working judgement, no source."""


def _window(low: float, high: float, unit: str) -> QuantityKey:
    return QuantityKey(low * (1 - FALL), low, high, high * (1 + FALL), unit)


def _dose(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    right = handling.bath_l * site.cleaner.dose_ml_per_l
    slack = right * site.cleaner.dose_tolerance
    return _window(right - slack, right + slack, "mL")


def _contact_time(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    return _window(site.cleaner.contact_min, site.cleaner.contact_max, "min")


def _temperature(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    low, high = site.cleaner.temperature_min_c, site.cleaner.temperature_max_c
    return QuantityKey(low - 10.0, low, high, high + 5.0, "degC")


def _rinses(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    return QuantityKey(
        0.0,
        float(site.rinse.tap_min),
        float(site.rinse.tap_max),
        site.rinse.tap_max + 4.0,
        "rinses",
    )


def _brush_width(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    bore = lumens[0].bore_mm or 0.0
    slack = bore * site.brushing.fit_tolerance
    # No credit where the bench's brush touches nothing: a brush two thirds of the bore is not
    # nearly right, although two thirds of a dose is.
    off = max(bore * NO_FIT.value, slack)
    return QuantityKey(bore - off, bore - slack, bore + slack, bore + off, "mm")


def _strokes(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    return _window(float(site.brushing.strokes_min), float(site.brushing.strokes_max), "strokes")


def _flush_volume(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    return _window(site.flushing.ml_min, site.flushing.ml_max, "mL")


SOFT_FLUSH = 0.25
"""From this share of the IFU's highest pressure on a flush is right. A working judgement."""


def _flush_pressure(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    # No credit above the IFU's value: a channel that burst is not nearly whole.
    highest = lumens[0].pressure_max_kpa or 0.0
    return QuantityKey(0.0, SOFT_FLUSH * highest, highest, highest * 1.1, "kPa")


def _light(handling: Handling, lumens: _Lumens, site: SiteValues) -> QuantityKey:
    return _window(site.inspection.light_min_lux, site.inspection.light_max_lux, "lux")


_RULES: dict[QuantityRule, tuple[str, Callable[[Handling, _Lumens, SiteValues], QuantityKey]]] = {
    "dose": ("mL", _dose),
    "contact_time": ("min", _contact_time),
    "temperature": ("degC", _temperature),
    "rinses": ("rinses", _rinses),
    "brush_width": ("mm", _brush_width),
    "strokes": ("strokes", _strokes),
    "flush_volume": ("mL", _flush_volume),
    "flush_pressure": ("kPa", _flush_pressure),
    "light": ("lux", _light),
}


def rule_unit(rule: QuantityRule) -> str:
    """Return the bench's unit of the quantity that `rule` computes."""
    return _RULES[rule][0]


_NEEDS: dict[QuantityRule, str] = {
    "brush_width": "bore_mm",
    "flush_pressure": "pressure_max_kpa",
}
"""What a rule asks of the lumen it is for."""


def quantity_key(
    rule: QuantityRule,
    handling: Handling,
    instrument: Instrument,
    site: SiteValues,
    place: str | None = None,
) -> QuantityKey:
    """Return the key of `rule` for this instance.

    Parameters
    ----------
    rule : QuantityRule
    handling : Handling
        Before the first decision.
    instrument : Instrument
    site : SiteValues
    place : str, optional
        The lumen that a width or a pressure is for; the first one if not given.

    Raises
    ------
    ValueError
        The rule does not fit the instrument.
    """
    lacking = lacking_for(rule, instrument, place)
    if lacking:
        raise ValueError(f"{lacking}, so {rule} has no right answer")
    return _RULES[rule][1](handling, _lumens(instrument, place, _NEEDS.get(rule, "")), site)


def lacking_for(rule: QuantityRule, instrument: Instrument, place: str | None = None) -> str:
    """Return what the instrument lacks for `rule` to have a right answer; empty if nothing."""
    if rule not in _NEEDS or _lumens(instrument, place, _NEEDS[rule]):
        return ""
    where = f"lumen {place!r}" if place else "lumen"
    return f"instrument {instrument.id!r} has no {where} with {_NEEDS[rule]}"


def _lumens(instrument: Instrument, place: str | None, needs: str) -> _Lumens:
    return tuple(
        found
        for name, found in instrument.places.items()
        if found.kind == "lumen"
        and place in (None, name)
        and (not needs or getattr(found, needs) is not None)
    )
