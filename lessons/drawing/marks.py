"""How each kind of soil, and what else is left on an instrument, is drawn.

Kinds differ by shape and pattern as well as by colour. `see` is the chance that
the eye sees the soil, 0 to 1, and becomes its contrast.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from lessons.drawing.blotch import (
    angular_blotch,
    how_large,
    how_many,
    round_blotch,
    scattered,
    short,
)
from lessons.drawing.geometry import Region

FILM_MG = 3.0
"""Cleaner above which its film hides water spots, mg. Working judgement, no source."""

SMEARED = 40.0
"""From this amount on soil is drawn as a film too, ug/cm2: the lower end of what used
instruments carried (C2)."""

FILM = {
    "fresh": "#9c2a1c", "dried": "#5a2f1b", "fixed": "#8b8074", "fat": "#e8c33a",
    "mineral": "#ffffff", "bone": "#f3ead2",
}  # fmt: skip
"""Colour of the film of each kind."""

_Where = list[tuple[float, float, int]]


def soil(kind: str, key: str, regions: tuple[Region, ...], ug_per_cm2: float, see: float) -> str:
    """Return the SVG of one kind of soil on one place; empty when there is too little to draw."""
    count = how_many(ug_per_cm2)
    if count == 0:
        return ""
    size = how_large(ug_per_cm2, min(region.half_width for region in regions))
    where = list(scattered(f"{key}/{kind}", regions, count, size))
    smear = _smear(FILM[kind], regions, ug_per_cm2)
    return f'<g opacity="{0.1 + 0.9 * see:.3f}">{smear}{PATTERNS[kind](where, size)}</g>'


def _smear(colour: str, regions: tuple[Region, ...], ug_per_cm2: float) -> str:
    """Draw a film under the blotches, once there is much: soil spreads as well as clots."""
    thick = min(0.4, 0.16 * math.log2(ug_per_cm2 / SMEARED)) if ug_per_cm2 > SMEARED else 0.0
    if thick < 0.02:
        return ""
    return "".join(
        f'<path d="M{"L".join(f"{x:.1f} {y:.1f}" for x, y in region.points)}" stroke="{colour}" '
        f'stroke-width="{region.half_width * 1.7:.1f}" stroke-linecap="round" '
        f'stroke-linejoin="round" fill="none" opacity="{thick:.2f}"/>'
        for region in regions
    )


def _many(where: _Where, shape: Callable[[int], str]) -> str:
    return "".join(f"M{short(x)} {short(y)}{shape(number)}" for x, y, number in where)


def _fresh(where: _Where, size: float) -> str:
    gleam = size * 0.3
    return (
        f'<path d="{_many(where, lambda n: round_blotch(n % 40, size))}" fill="#9c2a1c" '
        f'stroke="#861f15" stroke-width="1.8" stroke-linejoin="round"/>'
        f'<path d="{_many(where[::2], lambda n: f"m{-gleam:.1f} {-gleam:.1f}l{gleam:.1f} 0")}" '
        f'stroke="#f3c9c0" stroke-width="1.1" stroke-linecap="round" fill="none"/>'
    )


def _dried(where: _Where, size: float) -> str:
    crack = size * 0.55
    return (
        f'<path d="{_many(where, lambda n: angular_blotch(n % 40, size))}" fill="#4a2413" '
        f'stroke="#2c1409" stroke-width=".8" stroke-linejoin="round"/>'
        f'<path d="{_many(where[::2], lambda n: f"m{-crack:.1f} 0l{crack:.1f} {crack / 2:.1f}")}" '
        f'stroke="#a9826c" stroke-width=".7" fill="none"/>'
    )


def _fixed(where: _Where, size: float) -> str:
    def hatch(number: int) -> str:
        half = size * 0.6
        return "".join(
            f"m{dx:.1f} {half:.1f}l{half:.1f} {-2 * half:.1f}m{-half - dx:.1f} {half:.1f}"
            for dx in (-half, -half / 4, half / 2)
        )

    return (
        f'<path d="{_many(where, lambda n: angular_blotch(n % 40, size * 1.1))}" fill="#8b8074" '
        f'stroke="#4f473e" stroke-width="1"/>'
        f'<path d="{_many(where, hatch)}" stroke="#3d362f" stroke-width=".8" fill="none"/>'
    )


def _fat(where: _Where, size: float) -> str:
    return (
        f'<path d="{_many(where, lambda n: round_blotch(n % 40, size * 1.25))}" fill="#e8c33a" '
        f'fill-opacity=".5" stroke="#a5851a" stroke-width="1.1" stroke-linejoin="round"/>'
    )


def _mineral(where: _Where, size: float) -> str:
    def speck(number: int) -> str:
        a = max(1.2, size * 0.35)
        return f"m0 {-a:.1f}l{a:.1f} {a:.1f}l{-a:.1f} {a:.1f}l{-a:.1f} {-a:.1f}z"

    return f'<path d="{_many(where, speck)}" fill="#fff" stroke="#5d6b77" stroke-width=".8"/>'


def _bone(where: _Where, size: float) -> str:
    return (
        f'<path d="{_many(where, lambda n: angular_blotch(n % 40, size * 0.9, 5))}" '
        f'fill="#f3ead2" stroke="#7a6a45" stroke-width="1"/>'
    )


PATTERNS: dict[str, Callable[[_Where, float], str]] = {
    "fresh": _fresh, "dried": _dried, "fixed": _fixed, "fat": _fat, "mineral": _mineral,
    "bone": _bone,
}  # fmt: skip
"""How each kind of soil is drawn at given places and size."""


def _rings(where: _Where, size: float) -> str:
    return (
        f'<path d="{_many(where, lambda n: _circle(2.0 + n % 4 * 0.9))}" fill="#e3f2fb" '
        f'fill-opacity=".75" stroke="#2f7fb0" stroke-width="1"/>'
    )


def _spots(where: _Where, size: float) -> str:
    return (
        f'<path d="{_many(where, lambda n: _circle(2.6 + n % 3 * 0.7))}" fill="#fff" '
        f'stroke="#7e8f9d" stroke-width=".9" stroke-dasharray="1.6 1.2"/>'
    )


def _circle(r: float) -> str:
    return f"m{-r:.1f} 0a{r:.1f} {r:.1f} 0 1 0 {2 * r:.1f} 0a{r:.1f} {r:.1f} 0 1 0 {-2 * r:.1f} 0z"


def foam(regions: tuple[Region, ...], residue_mg: float) -> str:
    """Return rings of foam for cleaner left on the instrument."""
    count = min(26, int(4.0 * math.log2(1.0 + residue_mg * residue_mg)))
    return _rings(list(scattered("foam", regions, count, 3.0)), 3.0) if count else ""


def salts(regions: tuple[Region, ...], ions_mg: float) -> str:
    """Return white spots for salts left by the last water."""
    count = min(26, int(7.0 * math.log2(1.0 + ions_mg * ions_mg)))
    return _spots(list(scattered("salts", regions, count, 3.0)), 3.0) if count else ""


def scratches(regions: tuple[Region, ...], damage: float) -> str:
    """Return scratches for damage to the surface."""
    count = min(24, int(40.0 * damage))
    if not count:
        return ""
    lines = "".join(
        f"M{x - 5:.1f} {y + 3:.1f}l{8 + n % 5:.1f} {-5 - n % 3:.1f}"
        for x, y, n in scattered("scratch", regions, count, 4.0)
    )
    return f'<path d="{lines}" stroke="#22303b" stroke-width=".9" fill="none"/>'


def drops(droplets: float) -> str:
    """Return drops thrown above the instrument."""
    count = min(18, int(2.6 * math.log2(1.0 + droplets / 8.0)))
    if not count:
        return ""
    sky = (Region(((70.0, 26.0), (600.0, 26.0)), 20.0),)
    path = "".join(
        f"M{x:.1f} {y - 5:.1f}c3 4 3.4 6 1.4 7.6c-1.6 1.2 -4.2 0 -4 -2.2c.2 -1.6 1.4 -3 2.6 -5.4z"
        for x, y, n in scattered("drops", sky, count, 3.0)
    )
    return f'<path d="{path}" fill="#cfe3f0" stroke="#35617f" stroke-width="1"/>'


SAMPLES: dict[str, Callable[[], str]] = {
    **{kind: partial(pattern, [(0.0, 0.0, 5)], 5.0) for kind, pattern in PATTERNS.items()},
    "foam": lambda: _rings([(-3.0, 1.0, 1), (4.0, -1.0, 3)], 3.0),
    "salts": lambda: _spots([(-3.0, 0.0, 1), (4.5, 0.0, 2)], 3.0),
    "scratches": lambda: '<path d="M-7 4l9 -6M-2 5l9 -7" stroke="#22303b" fill="none"/>',
    "drops": lambda: (
        '<path d="M0 -6c3 4 3.4 6 1.4 7.6c-1.6 1.2 -4.2 0 -4 -2.2c.2 -1.6 1.4 -3 2.6 -5.4z" '
        'fill="#cfe3f0" stroke="#35617f"/>'
    ),
    "air": lambda: '<ellipse rx="8" ry="4.6" fill="#fff" stroke="#35617f" stroke-width="1.2"/>',
}
"""One sample of each mark around the origin, for the legend."""
