"""How wide words are: an estimate, for no font is measured while drawing.

Widths are those of a wide system font, so that words never run into what stands
beside them; in a narrower font they leave some room.
"""

from __future__ import annotations

_NARROW, _THIN, _WIDE = 0.32, 0.41, 0.97
"""Widths of letters as a share of the font size, by class; the others are `_USUAL`."""
_USUAL = 0.62


def width(text: str, size: float) -> float:
    """Return about how wide a text is at a font size, in the units of the size."""
    return size * sum(_share(letter) for letter in text)


def _share(letter: str) -> float:
    if letter in "ijlI'.,:; |!":
        return _NARROW
    if letter in "frt()-/[]":
        return _THIN
    return _WIDE if letter in "mMW%@" else _USUAL
