"""Rings on the picture after places were marked: found, missed, marked though clean."""

from __future__ import annotations

import math
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


APART = 44.0
"""Least distance of two rings' centres, picture units: two rings of usual size and a badge."""


def outcomes(instance: Instance, marked: Iterable[str]) -> dict[str, Outcome]:
    """Return what became of each place that was soiled or marked, in the instrument's order."""
    chosen = set(marked)
    told: dict[str, Outcome] = {}
    for place in instance.instrument.places:
        soiled = place in instance.soiled
        if soiled or place in chosen:
            told[place] = "clean" if not soiled else "found" if place in chosen else "missed"
    return told


def apart(centres: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the centres with those that lie on each other moved up and down, so each is seen.

    A closed clamp has both jaws at one place. Two centres nearer than `APART` picture
    units move by half of what is missing; three never meet on an instrument of ours.
    """
    moved = list(centres)
    for one, (x, y) in enumerate(moved):
        for other in range(one + 1, len(moved)):
            x2, y2 = moved[other]
            if math.hypot(x2 - x, y2 - y) >= APART:
                continue
            least = math.sqrt(APART**2 - (x2 - x) ** 2)
            shift = (least - abs(y2 - y)) / 2
            down = 1.0 if y2 >= y else -1.0
            y, y2 = y - down * shift, y2 + down * shift
            moved[one], moved[other] = (x, y), (x2, y2)
    return moved


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
    instance : Instance
        Whose places are marked.
    moment : Moment
        How the instrument is drawn: opened or shut.
    marked : iterable of str
        The places marked.
    words : Interface
        Gives caption and text alternative.
    language : str
        Two letters.
    """
    told = outcomes(instance, marked)
    where = {spot.place: spot for spot in spots(instance.instrument, moment.handling)}
    centres = apart([(where[place].x, where[place].y) for place in told])
    rings = "".join(
        _ring(x, y, where[place].r, outcome)
        for (place, outcome), (x, y) in zip(told.items(), centres, strict=True)
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
