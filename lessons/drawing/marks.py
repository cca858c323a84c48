"""What else is left on an instrument: cleaner, salts, scratches; and drops in the air."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from lessons.drawing.blotch import Glyph, scattered, strewn
from lessons.drawing.geometry import Region
from lessons.drawing.soil import PATTERNS, ROUND, Where

FILM_MG = 3.0
"""Cleaner above which its film hides water spots, mg. Working judgement, no source."""


def _rings(where: Where, size: float) -> str:
    return (
        f'<path d="{strewn(where, lambda n: _circle(2.0 + n % 4 * 0.9))}" fill="#e3f2fb" '
        f'fill-opacity=".75" stroke="#2f7fb0" stroke-width="1"/>'
    )


def _spots(where: Where, size: float) -> str:
    return (
        f'<path d="{strewn(where, lambda n: _circle(2.6 + n % 3 * 0.7))}" fill="#fff" '
        f'stroke="#7e8f9d" stroke-width=".9" stroke-dasharray="1.6 1.2"/>'
    )


def _circle(r: float) -> Glyph:
    half = f"a{r:.1f} {r:.1f} 0 1 0 "
    return Glyph(-r, 0.0, f"{half}{2 * r:.1f} 0{half}-{2 * r:.1f} 0z")


def foam(regions: tuple[Region, ...], residue_mg: float) -> str:
    """Return rings of foam for cleaner left on the instrument."""
    count = min(56, int(4.0 * math.log2(1.0 + residue_mg * residue_mg)))
    return _rings(list(scattered("foam", regions, count, 3.0)), 3.0) if count else ""


def salts(regions: tuple[Region, ...], ions_mg: float) -> str:
    """Return white spots for salts left by the last water."""
    count = min(26, int(7.0 * math.log2(1.0 + ions_mg * ions_mg)))
    return _spots(list(scattered("salts", regions, count, 3.0)), 3.0) if count else ""


def scratches(regions: tuple[Region, ...], damage: float) -> str:
    """Return scratches for damage to the surface."""
    count = min(24, int(60.0 * damage))
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


def _sample(pattern: Callable[[Where, float], str]) -> str:
    return f"<g {ROUND}>{pattern([(0.0, 0.0, 5)], 5.0)}</g>"


SAMPLES: dict[str, Callable[[], str]] = {
    **{kind: partial(_sample, pattern) for kind, pattern in PATTERNS.items()},
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
