"""What every figure shares: the sheet, the colours, and sharp SVG that looks the same offline."""

from __future__ import annotations

import io
import re
from contextlib import AbstractContextManager
from dataclasses import dataclass

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

WIDTH_IN = 7.0
"""Width of a figure, inches: the text width of an A4 sheet with margins of 16 mm."""

INK = "#1a1a1a"
GREY = "#595959"
"""Second text colour; 7:1 on white (WCAG 2 relative luminance, calculated)."""
RULE = "#c8c8c8"
BLUE = "#0072B2"
ORANGE = "#E69F00"
GREEN = "#009E73"
VERMILION = "#D55E00"
"""Colours that colour-blind readers can tell apart: Okabe M, Ito K (2008), Color Universal
Design. From memory."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One figure, ready to be put into a page.

    Attributes
    ----------
    name : str
        Short name, unique on the page; every id inside starts with it.
    svg : str
        The ``<svg>`` element, without a prolog; no script, no address to load from.
    alt : str
        What the figure shows, as a finding.
    """

    name: str
    svg: str
    alt: str


def look() -> AbstractContextManager[None]:
    """Return the context in which figures are made; what was set before is set again after."""
    return mpl.rc_context(
        {
            "font.family": "DejaVu Sans",
            "font.size": 9.5,
            "axes.edgecolor": RULE,
            "axes.labelcolor": INK,
            "text.color": INK,
            "xtick.color": GREY,
            "ytick.color": INK,
            "hatch.linewidth": 0.7,
            # Letters as outlines: the font that ships with the plotting library, everywhere.
            "svg.fonttype": "path",
        }
    )


def sheet(height_in: float) -> Figure:
    """Return an empty figure of the report's width; no window and no global state is touched."""
    figure = Figure(figsize=(WIDTH_IN, height_in))
    FigureCanvasSVG(figure)
    return figure


def as_drawn(figure: Figure, name: str, alt: str) -> Drawn:
    """Return the figure as inline SVG; the same figure always gives the same bytes."""
    target = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": name}):
        figure.savefig(target, format="svg", metadata={"Date": None, "Creator": None})
    return Drawn(name, inline(target.getvalue(), name), alt)


def inline(svg: str, name: str) -> str:
    """Make an SVG file fit to stand inside a page beside others.

    The prolog and the metadata go, ids get the name in front so that two figures
    never share one, and the style stays inside this figure.
    """
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"\s*<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', svg)
    svg = re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', svg)
    svg = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", svg)
    svg = svg.replace("<style", f'<style data-figure="{name}"', 1).replace(
        "*{stroke-linejoin", f"#{name} *{{stroke-linejoin", 1
    )
    svg = re.sub(r'(<svg [^>]*?)width="[^"]*"', rf'\1id="{name}" aria-hidden="true"', svg, count=1)
    svg = re.sub(r'(<svg [^>]*?)height="[^"]*" ', r"\1", svg, count=1)
    return "\n".join(line.rstrip() for line in svg.splitlines() if line.strip())


def percent_axis(
    axes: Axes,
    label: str,
    ticks: tuple[int, ...] = (0, 25, 50, 75, 100),
    sign: str = "\N{NO-BREAK SPACE}%",
) -> None:
    """Give a panel its scale from 0 to 100 % with quiet guide lines; `sign` ends each tick."""
    axes.set_xlim(0, 100)
    axes.set_xticks(list(ticks), [f"{tick}{sign}" for tick in ticks])
    axes.set_xlabel(label)
    axes.grid(axis="x", color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(length=0)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)


def dot(axes: Axes, y: float, share: float, low: float | None, high: float | None,
        *, colour: str = BLUE, filled: bool = True, size: float = 6.0,
        marker: str = "o") -> None:  # fmt: skip
    """Draw an estimate with its interval; shares 0 to 1, `y` in rows of the panel."""
    if low is not None and high is not None:
        axes.plot([100 * low, 100 * high], [y, y], color=colour, linewidth=2.0,
                  solid_capstyle="butt", clip_on=False)  # fmt: skip
    axes.plot([100 * share], [y], marker=marker, markersize=size, color=colour, clip_on=False,
              markerfacecolor=colour if filled else "white", markeredgewidth=1.4)  # fmt: skip
