"""Rings on the picture after places were marked: found, missed, marked though clean."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from lessons.drawing import spots
from lessons.drawing.words import instrument_words
from lessons.page.interface import Interface
from lessons.page.screens import Picture
from scoring.instance import Instance
from scoring.play import Moment

Outcome = Literal["found", "missed", "clean"]

_RING: dict[Outcome, tuple[str, str]] = {
    "found": ('stroke="#00785a" stroke-width="3"', ""),
    "missed": ('stroke="#d55e00" stroke-width="4"', ' stroke-dasharray="7 4"'),
    "clean": ('stroke="#47535e" stroke-width="2"', ""),
}
"""Stroke and dashes: solid, dashed and thin, so that colour does not speak alone."""

_GLYPH: dict[Outcome, str] = {
    "found": "M-4 0l3 4 6-8",
    "missed": "M0-5v6M0 4v1.5",
    "clean": "M-4-4l8 8M4-4l-8 8",
}
"""A tick, an exclamation mark and a cross, drawn: no font needs to have them."""

BADGE = 9.0
"""Radius of the disc that carries the glyph, picture units; legible at half size."""


def outcomes(instance: Instance, marked: Iterable[str]) -> dict[str, Outcome]:
    """Return what became of each place that was soiled or marked, in the instrument's order."""
    chosen = set(marked)
    told: dict[str, Outcome] = {}
    for place in instance.instrument.places:
        soiled = place in instance.soiled
        if soiled or place in chosen:
            told[place] = "clean" if not soiled else "found" if place in chosen else "missed"
    return told


def ringed(
    picture: Picture,
    instance: Instance,
    moment: Moment,
    marked: Iterable[str],
    words: Interface,
    language: str,
) -> Picture:
    """Return the picture with a ring on each place that was soiled or marked.

    Parameters
    ----------
    picture : Picture
        The instrument as it was marked.
    instance, moment
        What is drawn.
    marked : iterable of str
        The places marked.
    words : Interface
        Gives caption and text alternative.
    language : str
        Two letters.
    """
    told = outcomes(instance, marked)
    where = {spot.place: spot for spot in spots(instance.instrument, moment.handling)}
    rings = "".join(
        _ring(where[place].x, where[place].y, where[place].r, outcome)
        for place, outcome in told.items()
    )
    labels = instrument_words(instance.instrument.id, language).places
    sentences = [
        words.say(f"ring_{outcome}", places=", ".join(labels[place] for place in places))
        for outcome in _RING
        if (places := [place for place, became in told.items() if became == outcome])
    ]
    return {
        "svg": picture["svg"].replace("</svg>", f"{rings}</svg>"),
        "alt": " ".join([picture["alt"], *sentences]),
        "caption": " ".join(sentences),
    }


def _ring(x: float, y: float, r: float, outcome: Outcome) -> str:
    reach = max(r, BADGE)
    stroke, dashes = _RING[outcome]
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="{reach:g}" fill="none" {stroke}{dashes}/>'
        f'<g transform="translate({x + reach * 0.7:.1f} {y - reach * 0.7:.1f})">'
        f'<circle r="{BADGE:g}" fill="#fff" {stroke}/>'
        f'<path d="{_GLYPH[outcome]}" fill="none" stroke="#16202a" stroke-width="2.2"/></g>'
    )
