"""Drawing a curve of the bench: the window of right answers shaded, the limit as a line."""

from __future__ import annotations

from lessons.curves.saying import OUTCOME_NAMES, OVER_NAMES, finding, unit_sign
from scoring.bench.response import Response
from scoring.cohort.drawing import BLUE, GREEN, GREY, RULE, VERMILION, Drawn, as_drawn, look, sheet

_BESIDE = 0.4
"""Of counted things, how far the shade goes past the first and the last that is right: not half
way to the next, which is not right. A working judgement, no source."""


def draw_curve(curve: Response) -> Drawn:
    """Return one response as a sharp picture with its finding in words."""
    with look():
        figure = sheet(3.6)
        axes = figure.add_axes((0.11, 0.16, 0.86, 0.74))
        # Counted things have no value between two whole numbers.
        counted = curve.x.size < 40
        axes.plot(
            curve.x, curve.y, color=BLUE, linewidth=2.2, marker="o" if counted else "", markersize=5
        )
        top = 1.08 * max(float(curve.y.max()), curve.limit or 0.0, 1e-9)
        axes.set_ylim(0.0, top)
        axes.set_xlim(float(curve.x[0]), float(curve.x[-1]))
        if curve.window is not None:
            low, high = curve.window
            # A window of one whole number has no width of its own to be shaded.
            beside = _BESIDE if counted else 0.0
            axes.axvspan(low - beside, high + beside, color=GREEN, alpha=0.16, linewidth=0)
            middle = (low + high) / 2.0
            axes.text(middle, top, "right here", color=GREY, ha="center", va="bottom", fontsize=8.5)
        if curve.limit is not None:
            axes.axhline(curve.limit, color=VERMILION, linewidth=1.4, linestyle=(0, (5, 3)))
            axes.text(
                1.0, curve.limit, "limit ", color=GREY, ha="right", va="bottom", fontsize=8.5,
                transform=axes.get_yaxis_transform(),
            )  # fmt: skip
        axes.set_xlabel(_label(OVER_NAMES[curve.over], curve.x_unit))
        axes.set_ylabel(_label(OUTCOME_NAMES[curve.outcome], curve.y_unit))
        axes.grid(color=RULE, linewidth=0.6)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    return as_drawn(figure, "curve", finding(curve))


def _label(name: str, unit: str) -> str:
    sign = unit_sign(unit)
    return f"{name}, {sign}" if sign and sign not in name else name
