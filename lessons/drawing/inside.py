"""What is inside a lumen that is drawn cut open: water, and the air that keeps it out."""

from __future__ import annotations

from html import escape

from lessons.drawing.outline import Lumen


def filling(lumen: Lumen, filled: bool) -> str:
    """Return the liquid in the bore, with the pocket of air when it is not filled."""
    left, right, top, bottom = lumen.left, lumen.right, lumen.top, lumen.bottom
    water = (
        f'<rect x="{left:g}" y="{top:g}" width="{right - left:g}" height="{bottom - top:g}" '
        f'fill="#cfe6f2" opacity=".75"/>'
    )
    if filled:
        return water
    near, far, floor = left + 70, right - 90, bottom - 6
    return water + (
        f'<path d="'
        f"M{near:g} {top:g}L{far:g} {top:g}C{far + 34:g} {top + 6:g} {far + 26:g} "
        f"{floor:g} {far - 8:g} {floor:g}L{near + 8:g} {floor:g}C{near - 26:g} {floor:g} "
        f'{near - 34:g} {top + 6:g} {near:g} {top:g}Z" fill="#fff" '
        f'stroke="#35617f" stroke-width="1.6"/>'
        f'<path d="M{near + 14:g} {top + 9:g}q60 -4 120 0" fill="none" stroke="#b9d3e2" '
        f'stroke-width="2.4" stroke-linecap="round"/>'
    )


def caption(lumen: Lumen, text: str) -> str:
    """Return the words above the cut-open view."""
    return (
        f'<text x="{(lumen.left + lumen.right) / 2:g}" y="{lumen.top - 20:g}" '
        f'text-anchor="middle">{escape(text)}</text>'
    )
