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
_SCALES = (1.4, 1.2, 1.0)
"""Sizes of the legend: the largest with which it keeps to two rows, for small screens."""


def legend(marks: Sequence[Mark], words: PictureWords) -> str:
    """Return the SVG of the legend, as large as two rows allow."""
    for scale in _SCALES:
        placed, rows = _placed(marks, words, scale)
        if rows <= 2:
            break
    step = 25.0 * scale if rows <= 2 else 21.0
    top = _BOTTOM - 8.0 * scale - step * (rows - 1)
    top = min(top, 330.0)
    return "".join(
        f'<g transform="translate({x + 10 * scale:g} {top + row * step:g})'
        f'{f" scale({scale:g})" if scale != 1 else ""}">{SAMPLES[mark]()}'
        f'<text x="17" y="5.5">{escape(words.legend[mark])}</text></g>'
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
