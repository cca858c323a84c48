"""Numbers of the bench that an answer changed, with the site's limit beside them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lessons.drawing.words import instrument_words
from lessons.page.interface import Interface
from scoring.bench.outcomes import Outcome, outcome
from scoring.bench.steaming import place_reach, worst_reach
from scoring.finishing import allowed, over_limits
from scoring.instance import Instance
from scoring.model import STATIONS, Station
from scoring.play import Moment


@dataclass(frozen=True)
class _Figure:
    name: str
    unit: str
    of: Outcome | Callable[[Moment, Instance], float]
    """An outcome of the bench, which may have a limit, or a number of the page's own."""
    smallest: float = 0.01
    """A smaller change is below what the page can write."""
    whole: bool = False
    """It is counted: nobody has seen a part of a droplet."""
    worst: Callable[[Moment, Instance], str] | None = None
    """The place that the label names."""
    stations: tuple[Station, ...] = STATIONS
    """Where it is worth a line: before the rinse every instrument is wet."""
    from_none: float = 0.0
    """From nothing to this is no news."""
    always: bool = False
    """It is worth a line however small its change."""
    rinsed: bool = False
    """The rinse takes it off, so before the rinse nobody holds it against its limit."""

    def value(self, moment: Moment, instance: Instance) -> float:
        """Return the number at this moment."""
        if callable(self.of):
            return self.of(moment, instance)
        return float(outcome(self.of, moment.state, instance.instrument))

    def limit(self, instance: Instance) -> float | None:
        """Return how much an instrument that goes on may carry; None where nothing says so."""
        return None if callable(self.of) else allowed(instance).get(self.of)

    def said(self, value: float, say: Interface) -> str:
        """Write a value as far as it can be read."""
        if not self.whole:
            return said_amount(value, say)
        return say.say("amount_few") if 0 < value < 1 else said_amount(round(value), say)


def _most_protein(moment: Moment, instance: Instance) -> str:
    return max(instance.instrument.places, key=lambda name: _protein(moment, instance, name))


def _protein(moment: Moment, instance: Instance, place: str) -> float:
    return float(moment.state.protein_ug(place) / instance.instrument.places[place].area_cm2)


def _worst_fixed(moment: Moment, instance: Instance) -> float:
    return max(
        float(moment.state.soil[name]["fixed"] / place.area_cm2)
        for name, place in instance.instrument.places.items()
    )


_FEW_DROPLETS = 5.0
"""Fewer droplets are not told: what one stroke above the surface throws (the bench's count).
Each stroke below the surface lets loose a little, so every right answer would have a line."""

_FULLY_COVERED = 5.0
"""Of 100 droplets as many pass protective equipment that is all worn (the bench's constant): the
first few droplets met so say nothing about what somebody wears."""

_SLIGHT = 0.1
"""A change by less than this share is not told, so that a table holds what the answer did.
A working judgement, no source."""


def _met_of_hundred(moment: Moment, _: Instance) -> float:
    """Return how many of 100 droplets met uncovered skin; 0 when none was thrown."""
    state = moment.state
    return 100 * float(state.exposure / state.droplets) if state.droplets else 0.0


def _steam(moment: Moment, instance: Instance) -> float:
    """Return how much of the place that steam reaches least it can reach, percent."""
    return 100 * float(worst_reach(moment.state, moment.handling, instance.instrument))


def _least_steam(moment: Moment, instance: Instance) -> str:
    return min(
        instance.instrument.places,
        key=lambda name: float(
            place_reach(name, moment.state, moment.handling, instance.instrument)
        ),
    )


_LATE: tuple[Station, ...] = ("rinse", "inspect")
_FIGURES = (
    _Figure("protein", "µg/cm²", "protein", worst=_most_protein, always=True),
    _Figure("fixed", "µg/cm²", _worst_fixed),
    _Figure("bone", "µg/cm²", "bone"),
    _Figure("residue", "mg", "residue_mg", rinsed=True),
    _Figure("ions", "mg", "ions_mg", stations=_LATE),
    _Figure("endotoxin", "EU", "endotoxin_eu", stations=_LATE),
    _Figure("water", "mL", "water_ml", stations=_LATE),
    _Figure("inside", "mL", "inside_ml"),
    _Figure("oil", "mg", "oil_mg"),
    _Figure("lubricated", "", lambda moment, _: float(moment.state.lubricated)),
    _Figure("steam", "%", _steam, smallest=1.0, whole=True, worst=_least_steam, stations=_LATE),
    _Figure("droplets", "", "droplets", smallest=_FEW_DROPLETS, whole=True),
    _Figure("exposure", "", _met_of_hundred, from_none=_FULLY_COVERED, whole=True),
    _Figure("damage", "", "damage"),
)
_NONE_ALLOWED = ("inside_ml", "oil_mg", "damage")
"""Outcomes of which no department allows any, so that there is no number to look up."""


def changed_figures(
    instance: Instance, before: Moment, after: Moment, say: Interface, language: str
) -> list[Mapping[str, str]]:
    """Return the figures that changed between two moments, as words.

    Protein, bone and the reach of steam are those of the worst place, because
    one such place is enough to harm.
    """
    rows: list[Mapping[str, str]] = []
    for figure in _FIGURES:
        if instance.scenario.station not in figure.stations:
            continue
        was, now = figure.value(before, instance), figure.value(after, instance)
        limit = figure.limit(instance)
        later = figure.rinsed and instance.scenario.station not in _LATE
        if figure.said(now, say) == figure.said(was, say):
            continue
        if not _worth_a_line(figure, was, now, limit):
            continue
        rows.append(
            {
                "label": _label(figure, instance, after, say, language),
                "before": figure.said(was, say),
                "after": figure.said(now, say),
                "unit": figure.unit,
                "limit": _said_limit(figure, limit, say, later=later),
                "before_is": "" if later else _beside(limit, was, say),
                "after_is": "" if later else _beside(limit, now, say),
            }
        )
    return rows


def clearly_apart(instance: Instance, one: Moment, other: Moment) -> bool:
    """Say whether two moments differ in something that matters: above its limit, or without one."""
    for figure in _FIGURES:
        if instance.scenario.station not in figure.stations:
            continue
        was, now = figure.value(one, instance), figure.value(other, instance)
        limit = figure.limit(instance)
        if not _worth_a_line(figure, was, now, limit) or abs(now - was) < _SLIGHT * max(was, now):
            continue
        if limit is None or max(was, now) > limit:
            return True
    return False


def _worth_a_line(figure: _Figure, was: float, now: float, limit: float | None) -> bool:
    """Say whether a change is large enough to be told, or crosses the limit."""
    if abs(now - was) <= figure.smallest:
        return False
    if min(was, now) == 0 and max(was, now) <= figure.from_none:
        return False
    if figure.always or (limit is not None and (was > limit) != (now > limit)):
        return True
    return abs(now - was) >= _SLIGHT * max(was, now)


def _said_limit(figure: _Figure, limit: float | None, say: Interface, *, later: bool) -> str:
    if limit is None:
        return say.say("limit_none")
    if figure.of in _NONE_ALLOWED:
        return say.say("limit_nothing")
    said = f"{limit:g} {figure.unit}"
    return say.say("limit_later", limit=said) if later else said


def beyond_limits(instance: Instance, moment: Moment, say: Interface, language: str) -> list[str]:
    """Return each figure that is above what an instrument may carry that goes on, as words."""
    over = over_limits(instance, moment)
    lines = []
    for figure in _FIGURES:
        value = 0.0 if callable(figure.of) else over.get(figure.of, 0.0)
        # What is too little to be written is too little to be told.
        if value <= figure.smallest:
            continue
        lines.append(
            say.say(
                "beyond_limit",
                label=_label(figure, instance, moment, say, language),
                amount=f"{figure.said(value, say)} {figure.unit}".rstrip(),
                limit=_said_limit(figure, figure.limit(instance), say, later=False),
            )
        )
    return lines


def _label(
    figure: _Figure, instance: Instance, moment: Moment, say: Interface, language: str
) -> str:
    if figure.worst is None:
        return say.say(f"figure_{figure.name}")
    places = instrument_words(instance.instrument.id, language).places
    return say.say(f"figure_{figure.name}", place=places[figure.worst(moment, instance)])


def _beside(limit: float | None, value: float, say: Interface) -> str:
    """Return the word that stands beside a value: each has its own, so none is read for another."""
    return say.say("above_limit") if limit is not None and value > limit else ""


def said_amount(value: float, say: Interface) -> str:
    """Write an amount with no more digits than the bench deserves: two significant ones."""
    if value == 0:
        return "0"
    if value < 0.01:
        return say.say("amount_least")
    if value >= 100:
        return f"{float(f'{value:.2g}'):,.0f}".replace(",", " ")
    return f"{float(f'{value:.2g}'):g}"
