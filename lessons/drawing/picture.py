"""An instrument as it looks now, as one SVG and one alt text."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

from lessons.drawing import marks, soil
from lessons.drawing.blotch import FAINTEST
from lessons.drawing.described import described
from lessons.drawing.inside import caption, filling
from lessons.drawing.legend import legend
from lessons.drawing.outline import Outline, Spot
from lessons.drawing.outlines import outline
from lessons.drawing.words import Mark, PictureWords, instrument_words, picture_words
from scoring.bench.handling import Handling
from scoring.bench.inspecting import chance_of_seeing
from scoring.bench.state import SOIL_KINDS, State
from scoring.instrument import Instrument

WIDTH, HEIGHT = 640, 360
"""The picture's viewBox; marking spots are in the same units."""


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
        Opened or closed moves the places; opened when nothing is said.
    """
    opened = True if handling is None else bool(handling.opened)
    return outline(instrument.drawing, opened).spots


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
    form = outline(instrument.drawing, bool(handling.opened))
    words = picture_words(language)
    names = instrument_words(instrument.id, language)
    filled = bool(handling.lumen_filled)
    shown = _shown(instrument, state, form, filled)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{{alt}}" font-family="system-ui,sans-serif" font-size="16" fill="#24323d">'
        f'<rect width="{WIDTH}" height="{HEIGHT}" rx="8" fill="{_table(handling.light_lux)}" '
        f'stroke="#d5dde3"/>'
        + marks.drops(state.droplets)
        + form.steel
        + _in_lumen(form, filled, words)
        + _soil(instrument, state, handling, form)
        + form.over
        + marks.scratches(form.wet, state.damage)
        + marks.salts(form.wet, _salts_seen(state))
        + marks.foam(form.wet, state.residue_mg)
        + legend(shown if tell_soil else _everything(form), words)
        + "</svg>"
    )
    if tell_soil:
        alt = described(instrument, state, bool(handling.opened), shown, names, words)
    else:
        alt = words.to_inspect.format(name=names.name[:1].upper() + names.name[1:])
    alt = f"{title}: {alt}" if title else alt
    return Picture(svg.replace("{alt}", escape(alt, quote=True), 1), alt)


def _table(light_lux: float) -> str:
    """Return the colour of the table: darker in poor light, never too dark for the words."""
    dimmer = max(0.0, math.log2(1000.0 / max(light_lux, 50.0)))
    grey = 251 - round(9.0 * dimmer)
    return f"#{grey:02x}{grey + 1:02x}{grey + 2:02x}"


def _soil(instrument: Instrument, state: State, handling: Handling, form: Outline) -> str:
    drawn = []
    for name, place in instrument.places.items():
        for kind in SOIL_KINDS:
            amount = state.soil[name][kind] / place.area_cm2
            if amount >= FAINTEST:
                see = chance_of_seeing(amount, handling.light_lux, handling.magnification)
                drawn.append(soil.soil(kind, name, form.regions[name], amount, see))
    return f"<g {soil.ROUND}>{''.join(drawn)}</g>" if drawn else ""


def _in_lumen(form: Outline, filled: bool, words: PictureWords) -> str:
    if form.lumen is None:
        return ""
    return filling(form.lumen, filled) + caption(form.lumen, words.inside)


def _salts_seen(state: State) -> float:
    """Salts show only once the cleaner is off: a film of cleaner hides them."""
    return float(state.ions_mg) if state.residue_mg < marks.FILM_MG else 0.0


def _shown(instrument: Instrument, state: State, form: Outline, filled: bool) -> tuple[Mark, ...]:
    shown: list[Mark] = []
    for kind in SOIL_KINDS:
        if any(
            state.soil[name][kind] / place.area_cm2 >= FAINTEST
            for name, place in instrument.places.items()
        ):
            shown.append(kind)  # type: ignore[arg-type]
    if marks.foam(form.wet, state.residue_mg):
        shown.append("foam")
    if marks.salts(form.wet, _salts_seen(state)):
        shown.append("salts")
    if marks.scratches(form.wet, state.damage):
        shown.append("scratches")
    if marks.drops(state.droplets):
        shown.append("drops")
    if form.lumen is not None and not filled:
        shown.append("air")
    return tuple(shown)


def _everything(form: Outline) -> tuple[Mark, ...]:
    """Every mark, whether there or not, so that the legend gives nothing away."""
    return ("fresh", "dried", "fixed", "fat", "mineral", "bone", "foam", "salts")
