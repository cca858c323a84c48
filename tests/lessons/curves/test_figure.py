"""The picture of a curve: a window of one whole number can be seen."""

from __future__ import annotations

import re

from lessons.curves.figure import draw_curve
from scoring.bench.response import response
from scoring.cohort.drawing import GREEN
from tests.lessons.players import SITES, library, site


def shaded(svg: str) -> float:
    """How wide the shade of the window is, in the units of the picture."""
    path = re.search(rf'<path d="([^"]+)"[^>]*style="fill: {GREEN.lower()}; opacity: 0.16', svg)
    assert path is not None
    xs = [float(x) for x in re.findall(r"[ML] ([-\d.]+) [-\d.]+", path[1])]
    return max(xs) - min(xs)


def test_a_window_of_one_number_is_shaded_as_wide_as_can_be_seen() -> None:
    device = library().instrument("clamp")
    widths = {}
    for path in SITES:
        curve = response("residue_mg", "rinses", site(path), device)
        assert curve.window is not None
        rinses = curve.window[1] - curve.window[0]
        widths[rinses] = shaded(draw_curve(curve).svg)
    assert 0.0 in widths
    assert widths[0.0] > 10
    assert [widths[rinses] for rinses in sorted(widths)] == sorted(widths.values())
