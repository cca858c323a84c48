"""Findings on drying that disagree: all three are drawn and named, none is the truth."""

from __future__ import annotations

from lessons.curves.disagreeing import LONGEST_MIN, draw_findings
from scoring.bench.drying import hardness_by_finding
from scoring.catalogue import disputes


def test_the_picture_tells_the_disagreement() -> None:
    drawn = draw_findings()
    assert drawn.alt.startswith(disputes()["drying"].said)
    assert drawn.svg.count("<path") > 3


def test_the_three_findings_do_differ_within_the_picture() -> None:
    """B8 is hardest at one to two hours (read), B9 later than that; B7 still rises at the end."""
    shapes: dict[str, list[float]] = {name: [] for name in ("B7", "B8", "B9")}
    times = [step * LONGEST_MIN / 60 for step in range(61)]
    for minutes in times:
        for name, value in hardness_by_finding(minutes).items():
            shapes[name].append(value)
    peak = times[shapes["B8"].index(max(shapes["B8"]))]
    assert 60 <= peak <= 120
    assert shapes["B9"][-1] == max(shapes["B9"])
    assert shapes["B7"][-1] == max(shapes["B7"])
