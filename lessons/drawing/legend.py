"""The legend under a picture: each mark by shape, pattern and word."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lessons.drawing.marks import SAMPLES
from lessons.drawing.words import Mark, PictureWords

_LEFT, _RIGHT = 18.0, 634.0
_LETTER = 8.6
"""Mean width of a letter at 16 units, with some room: no font is measured."""
_ROWS: dict[int, tuple[float, float]] = {1: (330.0, 25.0), 2: (321.0, 25.0), 3: (306.0, 22.0)}
"""First row and step from row to row, by how many rows there are: all end inside 360."""


def legend(marks: Sequence[Mark], words: PictureWords) -> str:
    """Return the SVG of the legend, on at most three rows."""
    placed: list[tuple[Mark, str, float, int]] = []
    x, row = _LEFT, 0
    for mark in marks:
        text = words.legend[mark]
        width = 28.0 + _LETTER * len(text) + 9.0
        if x + width > _RIGHT and x > _LEFT:
            x, row = _LEFT, row + 1
        placed.append((mark, text, x, row))
        x += width
    top, step = _ROWS[min(row + 1, max(_ROWS))]
    return "".join(
        f'<g transform="translate({x + 10:g} {top + row * step:g})">{SAMPLES[mark]()}'
        f'<text x="17" y="5.5">{escape(text)}</text></g>'
        for mark, text, x, row in placed
    )
