"""Numbers of the bench that an answer changed, with the site's limit beside them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lessons.drawing.words import instrument_words
from lessons.page.interface import Interface
from scoring.bench.state import State
from scoring.instance import Instance
from scoring.play import Moment


@dataclass(frozen=True)
class _Figure:
    name: str
    unit: str
    value: Callable[[State, Instance], float]
    limit: Callable[[Instance], float | None]
    smallest: float = 0.01
    """A smaller change is below what the page can write."""
    whole: bool = False
    """It is counted: nobody has seen a part of a droplet."""

    def said(self, value: float) -> str:
        """Write a value as far as it can be read."""
        if not self.whole:
            return said_amount(value)
        return "fewer than 1" if 0 < value < 1 else said_amount(round(value))


def _worst_protein(state: State, instance: Instance) -> float:
    return max(_protein(state, instance, name) for name in instance.instrument.places)


def _protein(state: State, instance: Instance, place: str) -> float:
    return float(state.protein_ug(place) / instance.instrument.places[place].area_cm2)


def _worst_fixed(state: State, instance: Instance) -> float:
    return max(
        float(state.soil[name]["fixed"] / place.area_cm2)
        for name, place in instance.instrument.places.items()
    )


def _worst_bone(state: State, instance: Instance) -> float:
    return max(
        float(state.soil[name]["bone"] / place.area_cm2)
        for name, place in instance.instrument.places.items()
    )


def _met_of_hundred(state: State) -> float:
    """Return how many of 100 droplets met uncovered skin; 0 when none was thrown."""
    return 100 * float(state.exposure / state.droplets) if state.droplets else 0.0


_FIGURES = (
    _Figure("protein", "µg/cm²", _worst_protein, lambda inst: inst.site.limits.protein_ug_per_cm2),
    _Figure("fixed", "µg/cm²", _worst_fixed, lambda _: None),
    _Figure("bone", "µg/cm²", _worst_bone, lambda inst: inst.site.limits.protein_ug_per_cm2),
    _Figure("residue", "mg", lambda state, _: state.residue_mg, lambda i: i.site.limits.residue_mg),
    _Figure("ions", "mg", lambda state, _: state.ions_mg, lambda i: i.site.limits.ions_mg),
    _Figure("droplets", "", lambda state, _: state.droplets, lambda _: None, whole=True),
    _Figure("exposure", "", lambda state, _: _met_of_hundred(state), lambda _: None, whole=True),
    _Figure("damage", "", lambda state, _: state.damage, lambda _: None),
)


def changed_figures(
    instance: Instance, before: Moment, after: Moment, say: Interface, language: str
) -> list[Mapping[str, str]]:
    """Return the figures that changed between two moments, as words.

    Protein and bone are those of the worst place, because one soiled place is
    enough to harm.
    """
    places = instrument_words(instance.instrument.id, language).places
    rows: list[Mapping[str, str]] = []
    for figure in _FIGURES:
        was = float(figure.value(before.state, instance))
        now = float(figure.value(after.state, instance))
        if abs(now - was) <= figure.smallest or figure.said(now) == figure.said(was):
            continue
        limit = figure.limit(instance)
        label = say.say(f"figure_{figure.name}")
        if figure.name == "protein":
            worst = max(
                instance.instrument.places,
                key=lambda name: _protein(after.state, instance, name),
            )
            label = say.say("figure_protein", place=places[worst])
        rows.append(
            {
                "label": label,
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
    places = instrument_words(instance.instrument.id, language).places
    lines = []
    for figure in _FIGURES:
        limit = figure.limit(instance)
        value = float(figure.value(moment.state, instance))
        if limit is None or value <= limit:
            continue
        worst = max(
            instance.instrument.places, key=lambda name: _protein(moment.state, instance, name)
        )
        label = say.say(f"figure_{figure.name}", place=places[worst])
        lines.append(
            say.say(
                "beyond_limit",
                label=label,
                amount=f"{figure.said(value)} {figure.unit}",
                limit=f"{limit:g} {figure.unit}",
            )
        )
    return lines


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
