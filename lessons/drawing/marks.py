"""What else is left on an instrument: cleaner, salts, scratches; and drops in the air."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from lessons.drawing.blotch import Glyph, scattered, strewn
from lessons.drawing.geometry import Region
from lessons.drawing.soil import PATTERNS, ROUND, Where

MOST_FOAM = 90
"""Rings of foam at most. Twice the dose on the largest instrument stays below it."""

_EACH = 45.0
"""Length of a region that gets as many marks as any other such length, viewBox units."""

THIN_FOAM_MG = 0.9
"""Cleaner below this is not drawn, mg: a little below the lowest limit of the departments
that come with the kit, so that what is left after good work leaves a clean picture."""

DAMP = 0.03
"""Water below this share of what the instrument carries is not drawn. Working judgement."""

THIN_OIL_MG = 1.0
"""Oil below this is not drawn, mg. Working judgement, no source."""

DROP_ML = 0.05
"""Water inside a device below this is not drawn, mL: a drop. Working judgement."""

FILM_MG = 3.0
"""Cleaner above which its film hides water spots, mg. Working judgement, no source."""


def _rings(where: Where, size: float) -> str:
    return (
        f'<path d="{strewn(where, lambda n: _circle(2.0 + n % 4 * 0.9))}" fill="#e3f2fb" '
        f'fill-opacity=".75" stroke="#2f7fb0" stroke-width="1"/>'
    )


def _spots(where: Where, size: float) -> str:
    """Return pale rings: salts dry last at the edge of a drop, and stay there."""
    rings = strewn(where, lambda n: _circle(size + n % 3 * 0.9))
    return (
        f'<path d="{rings}" fill="#fff" fill-opacity=".45" stroke="#5f7282" stroke-width="3"/>'
        f'<path d="{rings}" fill="none" stroke="#fff" stroke-width="1.8"/>'
    )


def _beads(where: Where, size: float) -> str:
    """Return beads of water, each with a gleam."""
    beads = strewn(where, lambda n: _bead(size + n % 4 * 0.8))
    gleam = strewn(where, lambda n: Glyph(-size * 0.5, -size * 0.25, f"h{size * 0.5:.1f}"))
    return (
        f'<path d="{beads}" fill="#8fc3e0" fill-opacity=".8" stroke="#1f5f86" stroke-width="1"/>'
        f'<path d="{gleam}" stroke="#fff" stroke-width="1.3" fill="none" stroke-linecap="round"/>'
    )


def _bead(r: float) -> Glyph:
    """Return a bead that hangs a little: flat above, round below."""
    return Glyph(-r, 0.0, f"c0-{r * 0.8:.1f} {2 * r:.1f}-{r * 0.8:.1f} {2 * r:.1f} 0"
                 f"c0 {r * 1.3:.1f}-{2 * r:.1f} {r * 1.3:.1f}-{2 * r:.1f} 0z")  # fmt: skip


def _circle(r: float) -> Glyph:
    half = f"a{r:.1f} {r:.1f} 0 1 0 "
    return Glyph(-r, 0.0, f"{half}{2 * r:.1f} 0{half}-{2 * r:.1f} 0z")


def _fair(regions: tuple[Region, ...]) -> tuple[Region, ...]:
    """Return the regions in turn, long ones more often, so that short ones are not crowded."""
    turns = []
    for number, region in enumerate(regions):
        times = max(1, round(region.length / _EACH))
        turns += [((turn + 0.5) / times, number) for turn in range(times)]
    return tuple(regions[number] for _, number in sorted(turns))


def foam(regions: tuple[Region, ...], residue_mg: float) -> str:
    """Return rings of foam for cleaner left on the instrument."""
    if residue_mg < THIN_FOAM_MG:
        return ""
    count = min(MOST_FOAM, int(3.4 * math.log2(1.0 + residue_mg * residue_mg)))
    return _rings(list(scattered("foam", _fair(regions), count, 3.0)), 3.0)


def salts(regions: tuple[Region, ...], ions_mg: float) -> str:
    """Return pale rings for salts left by the last water."""
    count = min(26, int(7.0 * math.log2(1.0 + ions_mg * ions_mg)))
    size = min(5.0, 3.0 + 0.5 * math.log2(1.0 + ions_mg))
    return _spots(list(scattered("salts", _fair(regions), count, size)), size) if count else ""


def water(regions: tuple[Region, ...], share: float) -> str:
    """Return a sheen and beads of water.

    Parameters
    ----------
    regions : tuple of Region
        Where water clings.
    share : float
        Water on the instrument as a share of what it carries when lifted out of a bath.
    """
    if share < DAMP:
        return ""
    count = min(34, 4 + int(24.0 * share))
    size = (3.2 if regions[0].broad else 2.4) + 1.4 * min(share, 1.0)
    sheen = "".join(
        f'<path d="M{"L".join(f"{x:.1f} {y:.1f}" for x, y in region.points)}" fill="none" '
        f'stroke="#4f9ac6" stroke-width="{region.half_width * 1.6:.1f}" stroke-linecap="round" '
        f'stroke-linejoin="round" opacity="{0.1 + 0.14 * min(share, 1.0):.2f}"/>'
        for region in regions
        if not region.broad
    )
    return sheen + _beads(list(scattered("water", _fair(regions), count, size)), size)


def oil(joints: tuple[tuple[float, float], ...], regions: tuple[Region, ...], oil_mg: float) -> str:
    """Return an oily film at the joints, and streaks from there where there is much."""
    if oil_mg < THIN_OIL_MG:
        return ""
    grown = math.log2(1.0 + oil_mg / THIN_OIL_MG)
    r = min(30.0, 14.0 + 3.0 * grown)
    pools = "".join(_pool(x, y, r) for x, y in joints)
    count = min(20, int(3.0 * grown))
    return pools + _streaks(list(scattered("oil", _fair(regions), count, 3.0)), 3.0)


def _pool(x: float, y: float, r: float) -> str:
    return "".join(
        f'<ellipse cx="{x:.1f}" cy="{y:.1f}" rx="{r * share:.1f}" ry="{r * share * 0.72:.1f}" '
        f'fill="{fill}" fill-opacity=".35" stroke="#7a5a00" stroke-width="1.2" '
        f'stroke-dasharray="{dash}"/>'
        for share, fill, dash in ((1.0, "#e0b13a", "9 3"), (0.62, "none", "5 3"))
    )


def _streaks(where: Where, size: float) -> str:
    wave = strewn(where, lambda n: Glyph(-7.0, 0.0, "q3.5-4 7 0t7 0"))
    return (
        f'<path d="{wave}" fill="none" stroke="#e0b13a" stroke-width="4" stroke-linecap="round" '
        f'opacity=".7"/><path d="{wave}" fill="none" stroke="#7a5a00" stroke-width="1.1"/>'
    )


def lubricated(joints: tuple[tuple[float, float], ...], share: float) -> str:
    """Return a small sign beside each joint that moves freely."""
    if share < 0.5:
        return ""
    return "".join(_sign(x + 19.0, y - 25.0) for x, y in joints)


def _sign(x: float, y: float) -> str:
    """Return a drop on a white disc; a turning stroke beside it."""
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8.5" fill="#fff" stroke="#0b5f56" '
        f'stroke-width="1.4"/>'
        f'<path d="M{x:.1f} {y - 5.4:.1f}c3 4 4 5.4 4 7.2a4 4 0 0 1-8 0c0-1.8 1-3.2 4-7.2z" '
        f'fill="#0b7a6e"/>'
    )


def water_inside(where: tuple[float, float] | None, inside_ml: float) -> str:
    """Return a window into a device in which water stands, higher the more there is."""
    if where is None or inside_ml < DROP_ML:
        return ""
    x, y = where
    level = y + 22.0 - min(40.0, 8.0 + 3.4 * math.log2(1.0 + inside_ml / DROP_ML))
    half = math.sqrt(max(26.0**2 - (level - y) ** 2, 0.0))
    large = 1 if level < y else 0
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="26" fill="#fdf6e3" stroke="#22303b" '
        f'stroke-width="2" stroke-dasharray="5 3"/>'
        f'<path d="M{x - half:.1f} {level:.1f}A26 26 0 {large} 0 {x + half:.1f} {level:.1f}'
        f'q{-half / 2:.1f} 5 {-half:.1f} 0t{-half:.1f} 0z" fill="#6fb1d6" stroke="#1f5f86" '
        f'stroke-width="1.4"/>'
    )


def scratches(regions: tuple[Region, ...], damage: float) -> str:
    """Return scratches for damage to the surface."""
    count = min(24, int(60.0 * damage))
    if not count:
        return ""
    lines = "".join(
        f"M{x - 5:.1f} {y + 3:.1f}l{8 + n % 5:.1f} {-5 - n % 3:.1f}"
        for x, y, n in scattered("scratch", _fair(regions), count, 4.0)
    )
    return f'<path d="{lines}" stroke="#22303b" stroke-width=".9" fill="none"/>'


def drops(above: float) -> str:
    """Return drops above the instrument; `above` as in `State`, so not those below the surface."""
    count = min(18, math.ceil(2.6 * math.log2(1.0 + above / 8.0)))
    if not count:
        return ""
    sky = (Region(((70.0, 26.0), (600.0, 26.0)), 20.0),)
    path = "".join(
        f"M{x:.1f} {y - 5:.1f}c3 4 3.4 6 1.4 7.6c-1.6 1.2 -4.2 0 -4 -2.2c.2 -1.6 1.4 -3 2.6 -5.4z"
        for x, y, n in scattered("drops", sky, count, 3.0)
    )
    return f'<path d="{path}" fill="#cfe3f0" stroke="#35617f" stroke-width="1"/>'


def _sample(pattern: Callable[[Where, float], str]) -> str:
    return f"<g {ROUND}>{pattern([(0.0, 0.0, 5)], 5.0)}</g>"


SAMPLES: dict[str, Callable[[], str]] = {
    **{kind: partial(_sample, pattern) for kind, pattern in PATTERNS.items()},
    "foam": lambda: _rings([(-3.0, 1.0, 1), (4.0, -1.0, 3)], 3.0),
    "salts": lambda: _spots([(-3.0, 0.0, 1), (4.5, 0.0, 2)], 3.0),
    "water": lambda: _beads([(-4.0, 0.0, 1), (5.0, 0.0, 3)], 3.0),
    "oil": lambda: _streaks([(0.0, 0.0, 1)], 3.0),
    "lubricated": lambda: _sign(0.0, 0.0),
    "scratches": lambda: '<path d="M-7 4l9 -6M-2 5l9 -7" stroke="#22303b" fill="none"/>',
    "drops": lambda: (
        '<path d="M0 -6c3 4 3.4 6 1.4 7.6c-1.6 1.2 -4.2 0 -4 -2.2c.2 -1.6 1.4 -3 2.6 -5.4z" '
        'fill="#cfe3f0" stroke="#35617f"/>'
    ),
    "inside": lambda: (
        '<circle r="8.5" fill="#fdf6e3" stroke="#22303b" stroke-width="1.4" '
        'stroke-dasharray="3 2"/><path d="M-8 2A8.3 8.3 0 0 0 8 2q-4 2.4-8 0t-8 0z" '
        'fill="#6fb1d6" stroke="#1f5f86"/>'
    ),
    "air": lambda: '<ellipse rx="8" ry="4.6" fill="#fff" stroke="#35617f" stroke-width="1.2"/>',
}
"""One sample of each mark around the origin, for the legend."""
