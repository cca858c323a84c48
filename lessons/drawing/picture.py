"""An instrument as it looks now, as one SVG and one alt text."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

from lessons.drawing import inside, marks, soil
from lessons.drawing.blotch import FAINTEST
from lessons.drawing.described import described
from lessons.drawing.legend import legend
from lessons.drawing.outline import Outline, Spot
from lessons.drawing.outlines import outline
from lessons.drawing.words import (
    InstrumentWords,
    Mark,
    PictureWords,
    instrument_words,
    picture_words,
)
from scoring.bench.handling import Handling
from scoring.bench.inspecting import chance_of_seeing, chance_on
from scoring.bench.state import SOIL_KINDS, State
from scoring.instrument import Instrument, Place

WIDTH, HEIGHT = 640, 360
"""The picture's viewBox; marking spots are in the same units."""

PALEST = 0.1
"""Chance of being seen below which soil is not named in the legend. A working judgement, no
source: drawn at a fifth of its colour or less it is lost against steel."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing and the same in words."""

    svg: str
    alt: str


def spots(instrument: Instrument, handling: Handling | None = None) -> tuple[Spot, ...]:
    """Return where each place can be marked.

    Parameters
    ----------
    instrument : Instrument
        The instrument.
    handling : Handling, optional
        Opened or closed moves the places, and a borescope the lumens; opened and without
        one when nothing is said.
    """
    if handling is None:
        return outline(instrument.drawing, True).spots
    return outline(instrument.drawing, bool(handling.opened), bool(handling.borescope)).spots


def draw(
    instrument: Instrument,
    state: State,
    handling: Handling,
    *,
    title: str,
    tell_soil: bool = True,
    language: str = "en",
) -> Picture:
    """Draw an instrument with everything that is on it.

    Parameters
    ----------
    instrument : Instrument
        What to draw.
    state : State
        Soil, cleaner and salts left, damage; floats, not arrays.
    handling : Handling
        Opened or closed, light and magnification, air in the lumen.
    title : str
        Said before the alt text.
    tell_soil : bool
        False where the soil is to be found by looking: then neither the alt
        text nor the legend gives it away.
    language : str
        Two letters.

    Returns
    -------
    Picture
        The same for the same arguments. The SVG holds no ids, so any number
        of pictures can stand on one page.
    """
    view = inside.way_of_seeing(bool(handling.borescope), tell_soil)
    form = outline(instrument.drawing, bool(handling.opened), view == "scope")
    words = picture_words(language)
    names = instrument_words(instrument.id, language)
    filled = bool(handling.lumen_filled)
    shown = _shown(instrument, state, handling, form, view)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{{alt}}" font-family="system-ui,sans-serif" font-size="16" fill="#24323d">'
        f'<rect width="{WIDTH}" height="{HEIGHT}" rx="8" fill="{_table(handling.light_lux)}" '
        f'stroke="#d5dde3"/>'
        + marks.drops(state.above)
        + form.steel
        + "".join(inside.shown(lumen, view, filled) for lumen in form.lumens)
        + _soil(instrument, state, handling, form, view)
        + form.over
        + _captions(instrument, form, view, names, words)
        + marks.oil(form.joints, form.wet, state.oil_mg)
        + marks.scratches(form.wet, state.damage)
        + marks.salts(form.wet, _salts_seen(state))
        + marks.foam(form.wet, state.residue_mg)
        + marks.water(form.wet, state.water_ml / instrument.carried_ml)
        + marks.lubricated(form.joints, state.lubricated)
        + marks.water_inside(form.dry, state.inside_ml)
        + legend(shown if tell_soil else _to_look_for(shown), words)
        + "</svg>"
    )
    if tell_soil:
        said = described(instrument, state, bool(handling.opened), shown, names, words)
    else:
        said = words.to_inspect.format(name=names.name[:1].upper() + names.name[1:])
    alt = _alt(title, said, form, view, words)
    return Picture(svg.replace("{alt}", escape(alt, quote=True), 1), alt)


def _alt(title: str, said: str, form: Outline, view: inside.View, words: PictureWords) -> str:
    """Return the alt text: the title, what is there to be seen, and how lumens were looked into."""
    looked = f" {words.looked_inside[view]}" if form.lumens and view != "cut" else ""
    return f"{title}: {said}{looked}" if title else f"{said}{looked}"


def _table(light_lux: float) -> str:
    """Return the colour of the table: darker in poor light, never too dark for the words."""
    dimmer = max(0.0, math.log2(1000.0 / max(light_lux, 50.0)))
    grey = 251 - round(9.0 * dimmer)
    return f"#{grey:02x}{grey + 1:02x}{grey + 2:02x}"


def _soil(
    instrument: Instrument, state: State, handling: Handling, form: Outline, view: inside.View
) -> str:
    drawn = []
    for name, place in instrument.places.items():
        if place.kind == "lumen" and view == "unseen":
            continue
        for kind in SOIL_KINDS:
            amount = state.soil[name][kind] / place.area_cm2
            if amount >= FAINTEST:
                see = _contrast(place, amount, handling, view)
                drawn.append(soil.soil(kind, name, form.regions[name], amount, see))
    return f"<g {soil.ROUND}>{''.join(drawn)}</g>" if drawn else ""


def _contrast(place: Place, ug_per_cm2: float, handling: Handling, view: inside.View) -> float:
    """Return how well soil is seen, 0 to 1: as the bench has it, but for a lumen cut open.

    Nobody sees it so: it is drawn as an open face would look, to teach.
    """
    if place.kind == "lumen" and view == "cut":
        return float(chance_of_seeing(ug_per_cm2, handling.light_lux, handling.magnification))
    return float(chance_on(place, ug_per_cm2, handling))


def _captions(
    instrument: Instrument,
    form: Outline,
    view: inside.View,
    names: InstrumentWords,
    words: PictureWords,
) -> str:
    said = ""
    for lumen in form.lumens:
        bore = instrument.places[lumen.place].bore_mm
        if bore is not None:
            said += inside.caption(lumen, names.places[lumen.place], bore, view, words)
    for note in form.notes:
        said += f'<text x="{note.x:g}" y="{note.y:g}">{escape(words.notes[note.key])}</text>'
    return said


def _salts_seen(state: State) -> float:
    """Salts show only once the cleaner is off: a film of cleaner hides them."""
    return float(state.ions_mg) if state.residue_mg < marks.FILM_MG else 0.0


def _shown(
    instrument: Instrument, state: State, handling: Handling, form: Outline, view: inside.View
) -> tuple[Mark, ...]:
    """Return the marks that the picture holds, in the order of the legend.

    Soil too pale for the eye is none of them: nobody must look for what cannot be found.
    """
    shown: list[Mark] = []
    for kind in SOIL_KINDS:
        for name, place in instrument.places.items():
            amount = state.soil[name][kind] / place.area_cm2
            if amount >= FAINTEST and _contrast(place, amount, handling, view) >= PALEST:
                shown.append(kind)  # type: ignore[arg-type]
                break
    drawn: dict[Mark, object] = {
        "foam": marks.foam(form.wet, state.residue_mg),
        "salts": marks.salts(form.wet, _salts_seen(state)),
        "water": marks.water(form.wet, state.water_ml / instrument.carried_ml),
        "oil": marks.oil(form.joints, form.wet, state.oil_mg),
        "lubricated": marks.lubricated(form.joints, state.lubricated),
        "scratches": marks.scratches(form.wet, state.damage),
        "drops": marks.drops(state.above),
        "air": form.lumens and view == "cut" and not handling.lumen_filled,
        "inside": marks.water_inside(form.dry, state.inside_ml),
    }
    return (*shown, *(mark for mark, there in drawn.items() if there))


_LOOKED_FOR: tuple[Mark, ...] = (
    "fresh", "dried", "fixed", "fat", "mineral", "bone", "foam", "salts", "water", "oil",
)  # fmt: skip
"""What an inspection looks for."""


def _to_look_for(shown: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """Return what is looked for, there or not, so that the legend gives nothing away."""
    return _LOOKED_FOR + tuple(mark for mark in shown if mark not in _LOOKED_FOR)
