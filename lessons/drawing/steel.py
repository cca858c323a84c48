"""The look of steel: every part of every instrument is drawn with these few strokes."""

from __future__ import annotations

EDGE = "#3f5568"
STEEL = "#ccd6df"
SHINE = "#f4f7f9"
SHADE = "#9cadbc"


def bar(path: str, width: float, *, shine: float = -0.22) -> str:
    """Return a bar of steel along a path: an edge, a body and a line of light.

    Parameters
    ----------
    path : str
        An SVG path.
    width : float
        Width of the bar.
    shine : float
        How far the line of light lies off the middle, as a share of the width.
    """
    light = width * 0.22
    return (
        f'<g fill="none" stroke-linecap="round" stroke-linejoin="round">'
        f'<path d="{path}" stroke="{EDGE}" stroke-width="{width + 3:g}"/>'
        f'<path d="{path}" stroke="{STEEL}" stroke-width="{width:g}"/>'
        f'<path d="{path}" stroke="{SHINE}" stroke-width="{light:g}" '
        f'transform="translate(0 {width * shine:g})" opacity=".9"/></g>'
    )


def plate(path: str, *, fill: str = STEEL) -> str:
    """Return a flat piece of steel with an edge."""
    return (
        f'<path d="{path}" fill="{fill}" stroke="{EDGE}" stroke-width="1.6" '
        f'stroke-linejoin="round"/>'
    )


def line(path: str, *, width: float = 1.2, colour: str = EDGE, opacity: float = 1.0) -> str:
    """Return a thin line, for teeth, slots and folds."""
    return (
        f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width:g}" '
        f'stroke-linecap="round" opacity="{opacity:g}"/>'
    )


def light(path: str, *, width: float = 2.0) -> str:
    """Return a line of light on a plate."""
    return line(path, width=width, colour=SHINE, opacity=0.95)


def pin(x: float, y: float, r: float) -> str:
    """Return a pin or screw head."""
    slot = r * 0.6
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" fill="{SHADE}" stroke="{EDGE}" '
        f'stroke-width="1.6"/>'
        + line(f"M{x - slot:.1f} {y + slot:.1f}L{x + slot:.1f} {y - slot:.1f}", width=1.6)
    )


def placed(parts: str, transform: str) -> str:
    """Return parts moved, turned or mirrored."""
    return f'<g transform="{transform}">{parts}</g>'


def leads(*points: tuple[float, float]) -> str:
    """Return dashed lines, one for each two points, from a part to a closer view of it."""
    path = "".join(
        f"M{ax:g} {ay:g}L{bx:g} {by:g}"
        for (ax, ay), (bx, by) in zip(points[::2], points[1::2], strict=True)
    )
    return (
        f'<path d="{path}" fill="none" stroke="{SHADE}" stroke-width="1.4" stroke-dasharray="4 4"/>'
    )


def hole(x: float, y: float, rx: float, ry: float, *, turn: float = 0.0) -> str:
    """Return an opening, dark, as one looks into it."""
    turned = f' transform="rotate({turn:g} {x:g} {y:g})"' if turn else ""
    return f'<ellipse cx="{x:g}" cy="{y:g}" rx="{rx:g}" ry="{ry:g}"{turned} fill="{EDGE}"/>'
