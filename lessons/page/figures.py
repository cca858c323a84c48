"""Numbers of the bench that an answer changed, with the site's limit beside them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lessons.drawing.words import instrument_words
from lessons.page.interface import Interface
from scoring.bench.steaming import place_reach, worst_reach
from scoring.instance import Instance
from scoring.model import STATIONS, Station
from scoring.play import Moment


@dataclass(frozen=True)
class _Figure:
    name: str
    unit: str
    value: Callable[[Moment, Instance], float]
    limit: Callable[[Instance], float | None] = lambda _: None
    smallest: float = 0.01
    """A smaller change is below what the page can write."""
    whole: bool = False
    """It is counted: nobody has seen a part of a droplet."""
    worst: Callable[[Moment, Instance], str] | None = None
    """The place that the label names."""
    stations: tuple[Station, ...] = STATIONS
    """Where it is worth a line: before the rinse every instrument is wet."""

    def said(self, value: float) -> str:
        """Write a value as far as it can be read."""
        if not self.whole:
            return said_amount(value)
        return "fewer than 1" if 0 < value < 1 else said_amount(round(value))


def _worst_protein(moment: Moment, instance: Instance) -> float:
    return max(_protein(moment, instance, name) for name in instance.instrument.places)


def _most_protein(moment: Moment, instance: Instance) -> str:
    return max(instance.instrument.places, key=lambda name: _protein(moment, instance, name))


def _protein(moment: Moment, instance: Instance, place: str) -> float:
    return float(moment.state.protein_ug(place) / instance.instrument.places[place].area_cm2)


def _worst_fixed(moment: Moment, instance: Instance) -> float:
    return max(
        float(moment.state.soil[name]["fixed"] / place.area_cm2)
        for name, place in instance.instrument.places.items()
    )


def _worst_bone(moment: Moment, instance: Instance) -> float:
    return max(
        float(moment.state.soil[name]["bone"] / place.area_cm2)
        for name, place in instance.instrument.places.items()
    )


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


def _of_state(field: str) -> Callable[[Moment, Instance], float]:
    return lambda moment, _: float(getattr(moment.state, field))


_LATE: tuple[Station, ...] = ("rinse", "inspect")
_FIGURES = (
    _Figure(
        "protein",
        "µg/cm²",
        _worst_protein,
        lambda i: i.site.limits.protein_ug_per_cm2,
        worst=_most_protein,
    ),
    _Figure("fixed", "µg/cm²", _worst_fixed),
    _Figure("bone", "µg/cm²", _worst_bone, lambda i: i.site.limits.protein_ug_per_cm2),
    _Figure("residue", "mg", _of_state("residue_mg"), lambda i: i.site.limits.residue_mg),
    _Figure("ions", "mg", _of_state("ions_mg"), lambda i: i.site.limits.ions_mg),
    _Figure(
        "endotoxin",
        "EU",
        _of_state("endotoxin_eu"),
        lambda i: i.site.limits.endotoxin_eu,
        stations=_LATE,
    ),
    _Figure("water", "mL", _of_state("water_ml"), stations=_LATE),
    _Figure("inside", "mL", _of_state("inside_ml")),
    _Figure("oil", "mg", _of_state("oil_mg")),
    _Figure("lubricated", "", _of_state("lubricated")),
    _Figure("steam", "%", _steam, smallest=1.0, whole=True, worst=_least_steam, stations=_LATE),
    _Figure("droplets", "", _of_state("droplets"), whole=True),
    _Figure("exposure", "", _met_of_hundred, whole=True),
    _Figure("damage", "", _of_state("damage")),
)


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
        if abs(now - was) <= figure.smallest or figure.said(now) == figure.said(was):
            continue
        limit = figure.limit(instance)
        rows.append(
            {
                "label": _label(figure, instance, after, say, language),
                "before": figure.said(was),
                "after": figure.said(now),
                "unit": figure.unit,
                "limit": say.say("limit_none") if limit is None else f"{limit:g} {figure.unit}",
                "before_is": _beside(limit, was, say),
                "after_is": _beside(limit, now, say),
            }
        )
    return rows


def beyond_limits(instance: Instance, moment: Moment, say: Interface, language: str) -> list[str]:
    """Return each figure that is above the site's limit at this moment, as words."""
    lines = []
    for figure in _FIGURES:
        limit = figure.limit(instance)
        value = figure.value(moment, instance)
        if limit is None or value <= limit:
            continue
        lines.append(
            say.say(
                "beyond_limit",
                label=_label(figure, instance, moment, say, language),
                amount=f"{figure.said(value)} {figure.unit}",
                limit=f"{limit:g} {figure.unit}",
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


def said_amount(value: float) -> str:
    """Write an amount with no more digits than the bench deserves: two significant ones."""
    if value == 0:
        return "0"
    if value < 0.01:
        return "below 0.01"
    if value >= 100:
        return f"{float(f'{value:.2g}'):,.0f}".replace(",", " ")
    return f"{float(f'{value:.2g}'):g}"
