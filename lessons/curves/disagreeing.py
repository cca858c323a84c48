"""Where findings disagree: how hard dried blood is to remove, drawn as each finding has it."""

from __future__ import annotations

import numpy as np

from scoring.bench.arrays import ARRAYS
from scoring.bench.drying import hardness_by_finding
from scoring.catalogue import disputes
from scoring.cohort.drawing import (
    BLUE,
    GREEN,
    GREY,
    INK,
    RULE,
    VERMILION,
    Drawn,
    as_drawn,
    look,
    sheet,
)

LONGEST_MIN = 300.0
"""Five hours: past the two hours of B8 and into the extended drying of B7. A working judgement."""

_NAMES = {
    "B7": "B7: an alkaline cleaner is needed",
    "B8": "B8: hardest while it sets",
    "B9": "B9: the longer, the harder (this bench)",
}
_LINES = {"B7": (GREEN, "-."), "B8": (VERMILION, "--"), "B9": (BLUE, "-")}


def draw_findings() -> Drawn:
    """Return the three shapes, each as a share of its own hardest, with the sentence on them."""
    minutes = np.linspace(0.0, LONGEST_MIN, 241)
    shapes = hardness_by_finding(minutes, ARRAYS)
    with look():
        figure = sheet(3.2)
        axes = figure.add_axes((0.11, 0.18, 0.50, 0.76))
        for name, shape in shapes.items():
            colour, line = _LINES[name]
            axes.plot(minutes, 100.0 * shape, color=colour, linestyle=line, linewidth=2.2)
        # Labels stand beside the ends, moved apart so that none covers another.
        last = 0.0
        for name in sorted(shapes, key=lambda each: shapes[each][-1]):
            last = max(100.0 * float(shapes[name][-1]), last + 9.0)
            axes.text(LONGEST_MIN * 1.02, last, _NAMES[name], color=INK, va="center")
        axes.set_xlim(0.0, LONGEST_MIN)
        axes.set_ylim(0.0, 105.0)
        axes.set_xlabel("minutes in air")
        axes.set_ylabel("share of its own hardest, %")
        axes.tick_params(colors=GREY)
        axes.grid(color=RULE, linewidth=0.6)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    said = disputes()["drying"].said
    return as_drawn(figure, "drying", f"{said} The heights of the three lines do not compare.")
