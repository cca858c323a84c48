"""What is inside a lumen: cut open with its water and air, down a borescope, or not seen."""

from __future__ import annotations

from html import escape
from typing import Literal

from lessons.drawing.lettering import width
from lessons.drawing.outline import Lumen
from lessons.drawing.steel import EDGE, SHADE, STEEL, leads, line
from lessons.drawing.words import PictureWords
from scoring.wording import said_number

View = Literal["cut", "scope", "unseen"]
"""How a lumen is shown: cut open to teach; as a borescope shows it; from outside only."""

_WALL = 11.0
"""Thickness of a wall that is drawn cut, viewBox units."""
_OVERHANG = 14.0
"""How far a caption above its view may be wider than the view, viewBox units."""
_NARROWEST = 120.0
"""Room that a caption needs to stand beside the round view, viewBox units."""
_LINE = 18.0
"""Height of a line of a caption, viewBox units."""


def way_of_seeing(borescope: bool, tell_soil: bool) -> View:
    """Return how lumens are shown.

    Where soil is to be found by looking, only a borescope shows the inside; elsewhere the
    lumen is drawn cut open, to teach what no eye at the sink could see.
    """
    if borescope:
        return "scope"
    return "cut" if tell_soil else "unseen"


def shown(lumen: Lumen, view: View, filled: bool) -> str:
    """Return the view of one lumen, without its soil and without its words."""
    if view == "scope":
        return _leads(lumen, view) + _down_the_bore(lumen)
    if view == "unseen":
        return _leads(lumen, view) + _from_outside(lumen)
    return _leads(lumen, view) + _cut_open(lumen) + _filling(lumen, filled)


def _leads(lumen: Lumen, view: View) -> str:
    if not lumen.leads:
        return ""
    first, last = lumen.leads
    if view == "scope":
        x, y = lumen.eye
        off = (lumen.view + 6) * 0.71
        return leads(first, (x - off, y - off), last, (x + off, y - off))
    top = lumen.top - _WALL - 2
    return leads(first, (lumen.left, top), last, (lumen.right, top))


def _box(lumen: Lumen, fill: str, *, more: str = "") -> str:
    return (
        f'<rect x="{lumen.left:g}" y="{lumen.top:g}" width="{lumen.right - lumen.left:g}" '
        f'height="{lumen.bottom - lumen.top:g}" fill="{fill}"{more}/>'
    )


def _cut_open(lumen: Lumen) -> str:
    """Return two cut walls with the bore between them."""
    walls = ""
    for y in (lumen.top - _WALL, lumen.bottom):
        walls += (
            f'<rect x="{lumen.left:g}" y="{y:g}" width="{lumen.right - lumen.left:g}" '
            f'height="{_WALL:g}" fill="{STEEL}" stroke="{EDGE}" stroke-width="1.6"/>'
        )
        walls += line(
            "".join(
                f"M{x} {y + _WALL - 1:g}l8 {2 - _WALL:g}"
                for x in range(int(lumen.left) + 4, int(lumen.right) - 8, 14)
            ),
            width=0.9, colour=SHADE,
        )  # fmt: skip
    return _box(lumen, "#fbfcfd") + walls


def _from_outside(lumen: Lumen) -> str:
    """Return the tube whole: its ends are dark, and nothing of its inside is seen."""
    top, high = lumen.top - _WALL, lumen.bottom - lumen.top + 2 * _WALL
    shine = top + high * 0.22
    ends = "".join(
        f'<ellipse cx="{x:g}" cy="{top + high / 2:g}" rx="6" ry="{high / 2:g}" fill="{fill}" '
        f'stroke="{EDGE}" stroke-width="1.6"/>'
        for x, fill in ((lumen.left, EDGE), (lumen.right, STEEL))
    )
    return (
        f'<rect x="{lumen.left:g}" y="{top:g}" width="{lumen.right - lumen.left:g}" '
        f'height="{high:g}" fill="{STEEL}" stroke="{EDGE}" stroke-width="1.6"/>'
        + line(
            f"M{lumen.left + 12:g} {shine:g}L{lumen.right - 12:g} {shine:g}",
            width=high * 0.12, colour="#f4f7f9",
        )
        + ends
    )  # fmt: skip


def _down_the_bore(lumen: Lumen) -> str:
    """Return the round view: the wall near by, narrowing rings, the dark far end."""
    x, y = lumen.eye
    r = lumen.view
    rings = "".join(
        f'<circle cx="{x:g}" cy="{y:g}" r="{r * share:.1f}" fill="{fill}"/>'
        for share, fill in (
            (1.0, "#e3e9ee"), (0.8, "#d3dce4"), (0.62, "#bcc8d2"), (0.46, "#97a6b3"),
            (0.32, "#5f7080"), (0.2, "#22303b"),
        )
    )  # fmt: skip
    frame = (
        f'<circle cx="{x:g}" cy="{y:g}" r="{r + 3:g}" fill="none" stroke="#22303b" '
        f'stroke-width="5"/>'
    )
    # A notch shows which way is up, as the picture of a scope does.
    notch = f'<path d="M{x - 5:g} {y - r - 1:g}l10 0l-5 7z" fill="#22303b"/>'
    return rings + frame + notch


def _filling(lumen: Lumen, filled: bool) -> str:
    """Return the liquid in the bore, with the pocket of air when it is not filled."""
    water = _box(lumen, "#cfe6f2", more=' opacity=".75"')
    if filled:
        return water
    left, right, top = lumen.left, lumen.right, lumen.top
    long, high = right - left, lumen.bottom - lumen.top
    near, far, floor = left + long * 0.15, right - long * 0.19, top + high * 0.86
    bend, lip = long * 0.07, high * 0.14
    return water + (
        f'<path d="'
        f"M{near:.1f} {top:g}L{far:.1f} {top:g}C{far + bend:.1f} {top + lip:.1f} "
        f"{far + bend * 0.8:.1f} {floor:.1f} {far - 8:.1f} {floor:.1f}L{near + 8:.1f} {floor:.1f}"
        f"C{near - bend * 0.8:.1f} {floor:.1f} {near - bend:.1f} {top + lip:.1f} {near:.1f} "
        f'{top:g}Z" fill="#fff" stroke="#35617f" stroke-width="1.6"/>'
        f'<path d="M{near + 14:.1f} {top + high * 0.22:.1f}q{long * 0.12:.1f} -{high * 0.1:.1f} '
        f'{long * 0.25:.1f} 0" fill="none" stroke="#b9d3e2" stroke-width="{high * 0.06:.1f}" '
        f'stroke-linecap="round"/>'
    )


def caption(lumen: Lumen, place: str, bore_mm: float, view: View, words: PictureWords) -> str:
    """Return the words at the view: which lumen, its bore, and how it is shown.

    Parameters
    ----------
    lumen : Lumen
        Where they stand: beside a round view if there is room, else above the view.
    place : str
        The lumen's label.
    bore_mm : float
        Its bore, mm.
    view : View
        How it is shown.
    words : PictureWords
        In the reader's language.
    """
    parts = [place, words.bore.format(bore=said_number(bore_mm)), words.views[view]]
    x, y, room = lumen.words_x, lumen.words_y, lumen.right - lumen.left + _OVERHANG
    beside = lumen.eye[0] + lumen.view + 16
    aside = view == "scope" and lumen.right - beside >= _NARROWEST
    if aside:
        x, room = beside, lumen.right - beside
    lines = [parts[0]]
    for part in parts[1:]:
        longer = f"{lines[-1]}, {part}"
        if width(longer, 15.0) <= room:
            lines[-1] = longer
        else:
            lines.append(part)
    if aside:
        y = lumen.eye[1] + 5 - _LINE * (len(lines) - 1) / 2
    return "".join(
        f'<text x="{x:g}" y="{y + number * _LINE:g}" font-size="15">{escape(text)}</text>'
        for number, text in enumerate(lines)
    )
