"""The legend under a picture: each mark by shape, pattern and word."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lessons.drawing.lettering import width
from lessons.drawing.marks import SAMPLES
from lessons.drawing.words import Mark, PictureWords

_LEFT, _RIGHT = 18.0, 634.0
_BOTTOM = 354.0
"""Lowest line on which words stand."""
_SIZES = ((1.4, 2), (1.2, 2), (1.0, 2), (1.0, 3), (0.85, 3))
"""Scale of the legend and most rows it may take; the first that fits is used, so that the
words are as large as they can be on a small screen. The last holds every mark there is."""
_STEPS = {1: 25.0, 2: 25.0, 3: 21.0}
"""From row to row at scale 1, by the most rows."""


def legend(marks: Sequence[Mark], words: PictureWords) -> str:
    """Return the SVG of the legend, as large as it fits under the picture."""
    for scale, most in _SIZES:
        placed, rows = _placed(marks, words, scale)
        if rows <= most:
            break
    step = _STEPS[most] * scale
    top = min(_BOTTOM - 8.0 * scale - step * (rows - 1), 330.0)
    sized = f" scale({scale:g})" if scale != 1 else ""
    return "".join(
        f'<g transform="translate({x + 10 * scale:g} {top + row * step:g}){sized}">'
        f'{SAMPLES[mark]()}<text x="17" y="5.5">{escape(words.legend[mark])}</text></g>'
        for mark, x, row in placed
    )


def _placed(
    marks: Sequence[Mark], words: PictureWords, scale: float
) -> tuple[list[tuple[Mark, float, int]], int]:
    """Return where each mark stands: its left edge and its row; and how many rows there are."""
    placed: list[tuple[Mark, float, int]] = []
    x, row = _LEFT, 0
    for mark in marks:
        wide = (28.0 + width(words.legend[mark], 16.0) + 10.0) * scale
        if x + wide > _RIGHT and x > _LEFT:
            x, row = _LEFT, row + 1
        placed.append((mark, x, row))
        x += wide
    return placed, row + 1
