"""How each kind of soil is drawn.

Kinds differ by shape and pattern as well as by colour: wet soil is smooth with
a gleam, dried soil jagged with cracks, fixed soil hatched, fat a clear yellow
drop, mineral a white speck, bone a pale grain.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from lessons.drawing.blotch import (
    Glyph,
    angular_blotch,
    core_width,
    how_large,
    how_many,
    round_blotch,
    scattered,
    short,
    strewn,
)
from lessons.drawing.geometry import Region

SMEARED = 40.0
"""From this amount on soil is drawn as a film too, ug/cm2: the lower end of what used
instruments carried (C2)."""

FILM = {
    "fresh": "#9c2a1c", "dried": "#5a2f1b", "fixed": "#8b8074", "fat": "#e8c33a",
    "mineral": "#ffffff", "bone": "#f3ead2",
}  # fmt: skip
"""Colour of the film of each kind."""

Where = list[tuple[float, float, int]]
"""Where each blotch lies, and a number that chooses its shape."""


def soil(kind: str, key: str, regions: tuple[Region, ...], ug_per_cm2: float, see: float) -> str:
    """Return the SVG of one kind of soil on one place; empty when there is too little to draw.

    `see` is the chance that the eye sees the soil, 0 to 1; it becomes the contrast.
    """
    count = how_many(ug_per_cm2)
    if count == 0:
        return ""
    size = how_large(ug_per_cm2, min(region.half_width for region in regions))
    where = list(scattered(f"{key}/{kind}", regions, count, size))
    thick = min(0.4, 0.16 * math.log2(ug_per_cm2 / SMEARED)) if ug_per_cm2 > SMEARED else 0.0
    film = ""
    if thick >= 0.02:
        look = f'stroke="{FILM[kind]}" opacity="{thick:.2f}"'
        film = _halo(where, size, look) if regions[0].broad else _smear(regions, look)
    return f'<g opacity="{0.1 + 0.9 * see:.3f}">{film}{PATTERNS[kind](where, size)}</g>'


def _smear(regions: tuple[Region, ...], look: str) -> str:
    """Draw a film under the blotches, once there is much: soil spreads as well as clots."""
    return "".join(
        f'<path d="M{"L".join(f"{x:.1f} {y:.1f}" for x, y in region.points)}" '
        f'stroke-width="{region.half_width * 1.4:.1f}" {look}/>'
        for region in regions
    )


def _halo(where: Where, size: float, look: str) -> str:
    """Draw the film about each blotch: on a broad face a film along a line would be a stripe."""
    cores = strewn(where, lambda n: round_blotch(n % 40, size * 2.0))
    return f'<path d="{cores}" stroke-width="{core_width(size * 3.4):.1f}" {look}/>'


def _fresh(where: Where, size: float) -> str:
    gleam = size * 0.35
    shine = strewn(where[::2], lambda _: Glyph(-gleam, -gleam, f"h{short(gleam)}"))
    return _smooth(where, size, edge="#6a1710", body="#a32c1e") + (
        f'<path d="{shine}" stroke="#f0b9ae" stroke-width="1"/>'
    )


def _smooth(where: Where, size: float, *, edge: str, body: str) -> str:
    """Draw blotches of soft outline: one thick stroke for the edge, one for the body."""
    cores = strewn(where, lambda n: round_blotch(n % 40, size))
    width = core_width(size)
    return (
        f'<path d="{cores}" stroke="{edge}" stroke-width="{width + 1.6:.1f}"/>'
        f'<path d="{cores}" stroke="{body}" stroke-width="{width:.1f}"/>'
    )


def _dried(where: Where, size: float) -> str:
    half = size * 0.55
    crack = Glyph(-half, 0.0, f"l{short(half)} {short(half / 2)}")
    return (
        f'<path d="{strewn(where, lambda n: angular_blotch(n % 40, size))}" fill="#4a2413" '
        f'stroke="#2c1409" stroke-width=".8"/>'
        f'<path d="{strewn(where[::2], lambda _: crack)}" '
        f'stroke="#a9826c" stroke-width=".7"/>'
    )


def _fixed(where: Where, size: float) -> str:
    half = size * 0.6
    back = f"m{short(-half)} {short(2 * half)}m{short(half * 0.75)} 0"
    stroke = f"l{short(half)} {short(-2 * half)}"
    hatch = Glyph(-half, half, stroke + back + stroke + back + stroke)
    return (
        f'<path d="{strewn(where, lambda n: angular_blotch(n % 40, size * 1.1))}" fill="#8b8074" '
        f'stroke="#4f473e" stroke-width="1"/>'
        f'<path d="{strewn(where, lambda _: hatch)}" stroke="#3d362f" stroke-width=".8"/>'
    )


def _fat(where: Where, size: float) -> str:
    return f'<g opacity=".8">{_smooth(where, size * 1.2, edge="#a5851a", body="#f0d877")}</g>'


def _mineral(where: Where, size: float) -> str:
    a = max(1.6, size * 0.5)
    r = short(a)
    speck = Glyph(0.0, -a, f"l{r} {r}l-{r} {r}l-{r}-{r}z")
    return (
        f'<path d="{strewn(where, lambda _: speck)}" fill="#fff" stroke="#5d6b77" '
        f'stroke-width=".8"/>'
    )


def _bone(where: Where, size: float) -> str:
    return (
        f'<path d="{strewn(where, lambda n: angular_blotch(n % 40, size * 0.9, 5))}" '
        f'fill="#f3ead2" stroke="#7a6a45" stroke-width="1"/>'
    )


PATTERNS: dict[str, Callable[[Where, float], str]] = {
    "fresh": _fresh, "dried": _dried, "fixed": _fixed, "fat": _fat, "mineral": _mineral,
    "bone": _bone,
}  # fmt: skip
"""How each kind of soil is drawn at given places and size, inside a group with `ROUND`."""

ROUND = 'fill="none" stroke-linecap="round" stroke-linejoin="round"'
"""What all soil has in common, said once around it."""
