"""The legend under a picture: each mark by shape, pattern and word."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lessons.drawing.marks import SAMPLES
from lessons.drawing.words import Mark, PictureWords

_TOP, _ROW, _LEFT, _RIGHT = 321.0, 25.0, 18.0, 634.0
_LETTER = 8.6
"""Mean width of a letter at 16 units, with some room: no font is measured."""


def legend(marks: Sequence[Mark], words: PictureWords) -> str:
    """Return the SVG of the legend, on at most two rows."""
    parts = []
    x, y = _LEFT, _TOP
    for mark in marks:
        text = words.legend[mark]
        width = 24.0 + _LETTER * len(text) + 12.0
        if x + width > _RIGHT and x > _LEFT:
            x, y = _LEFT, y + _ROW
        parts.append(
            f'<g transform="translate({x + 9:g} {y:g})">{SAMPLES[mark]()}'
            f'<text x="15" y="5.5">{escape(text)}</text></g>'
        )
        x += width
    return "".join(parts)
