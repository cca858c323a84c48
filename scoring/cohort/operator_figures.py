"""The figures of operators by code: the funnel, and each one's adjusted rate with its interval."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from scipy.special import ndtri  # type: ignore[import-untyped]

from scoring.cohort.drawing import (
    BLUE,
    GREY,
    INK,
    RULE,
    VERMILION,
    Drawn,
    as_drawn,
    dot,
    look,
    percent_axis,
    sheet,
)  # fmt: skip
from scoring.cohort.operator_rates import OperatorStudy
from scoring.cohort.saying import PER_CENT, count, listed, percent
from scoring.evidence import TooLittleEvidence
from scoring.variation.adjusted_rates import AdjustedRate, Verdict
from scoring.variation.chance_limits import chance_limits
from scoring.variation.funnel import Funnel, FunnelPoint

MOST_PEOPLE = 60
"""More people than this give no figure and no table of persons: their rows would no longer be
readable on one sheet. A working judgement; the table file still has everybody."""

MOST_LABELS = 12
"""Codes written into a funnel, those furthest out first; more would cover each other. A working
judgement; the file has all."""

STEPS = 60
"""Points of a limit's curve. An assumption."""


def funnel_figure(study: OperatorStudy) -> Drawn | None:
    """Draw the rate of wrong decisions against the number of decisions, with limits."""
    found = study.funnel
    if isinstance(found, TooLittleEvidence):
        return None
    outside = set(study.outside())
    with look():
        figure = sheet(3.7)
        axes = figure.add_axes((0.10, 0.15, 0.70, 0.80))
        top = _limits(axes, found, study.limit)
        inside = [point for point in found.points if point.unit not in outside]
        axes.plot([p.n for p in inside], [100 * p.value for p in inside], "o", color=BLUE,
                  markersize=4.5, markerfacecolor="white", linestyle="none")  # fmt: skip
        _label(axes, [point for point in found.points if point.unit in outside], 6 * top)
        axes.set_ylim(0, min(100.0, 100 * top + 4))
        axes.set_xlabel("decisions answered")
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:.0f}{PER_CENT}")
        axes.set_ylabel("wrong decisions")
        axes.tick_params(length=0)
        axes.grid(axis="y", color=RULE, linewidth=0.4)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    said = (
        f"above the outer limit: {listed(sorted(outside))}" if outside else "nobody lies above it"
    )
    alt = (
        f"Wrong decisions of {count(len(found.points), 'operator')} against the number answered, "
        f"about the mean of {percent(found.target)}; {said}."
    )
    return as_drawn(figure, "figure-funnel", alt)


def _limits(axes: Axes, found: Funnel, limit: float | None) -> float:
    """Draw the curves, each with its name at its right end; return the highest share drawn."""
    sizes = [point.n for point in found.points]
    first, last = max(5.0, 0.9 * min(sizes)), 1.04 * max(sizes)
    n = np.round(np.linspace(first, last, STEPS))
    extra = 0.0 if found.tau2 is None else found.tau2
    level = found.levels[-1]
    exact = chance_limits(n, found.target, level)
    half = float(ndtri(0.5 + level / 2)) * np.sqrt(found.target * (1 - found.target) / n + extra)
    ends = [(100 * found.target, "mean of all", INK)]
    for curves, style, name, colour in (
        (exact, (0, (2, 2)), "chance alone", GREY),
        ((found.target - half, found.target + half), "solid", "with what\npeople differ", INK),
    ):
        for curve in curves:
            shown = 100 * np.clip(np.asarray(curve, dtype=float), 0, 1)
            axes.plot(n, shown, color=colour, linestyle=style, linewidth=1.1)
        ends.append((shown[-1], name, colour))
    axes.axhline(100 * found.target, color=INK, linewidth=1.0)
    if limit is not None:
        axes.axhline(100 * limit, color=VERMILION, linewidth=1.2, linestyle=(0, (6, 3)))
        ends.append((100 * limit, f"limit {percent(limit)}", VERMILION))
    axes.set_xlim(first, last)
    top = max(max(point.value for point in found.points), float(np.max(found.target + half)))
    gap, at = 100 * top / 15, -np.inf
    for y, name, colour in sorted(ends):
        at = max(y, at + gap * (1 + 0.5 * name.count("\n")))
        axes.text(1.01, at, name, color=colour, fontsize=8.5, va="center",
                  transform=axes.get_yaxis_transform())  # fmt: skip
    return min(1.0, top)


def _label(axes: Axes, points: list[FunnelPoint], apart: float) -> None:
    axes.plot([p.n for p in points], [100 * p.value for p in points], "D", color=VERMILION,
              markersize=6, linestyle="none")  # fmt: skip
    far = sorted(points, key=lambda point: (-abs(point.z_adjusted), point.unit))[:MOST_LABELS]
    first, last = axes.get_xlim()
    at = -np.inf
    for point in sorted(far, key=lambda point: (point.value, point.unit)):
        # A label's height apart, on the side of the mark that has room.
        at = max(100 * point.value, at + apart)
        right = point.n < first + (last - first) / 3
        axes.annotate(
            point.unit,
            (point.n, at),
            xytext=(8 if right else -8, 0),
            textcoords="offset points",
            ha="left" if right else "right",
            va="center",
            fontsize=8.5,
            weight="bold",
        )


def people_figure(study: OperatorStudy) -> Drawn | None:
    """Draw each operator's adjusted rate, sorted by code; None for nobody or too many to read."""
    if isinstance(study.rates, TooLittleEvidence) or len(study.rates.operators) > MOST_PEOPLE:
        return None
    people = study.rates.operators
    columns = 2 if len(people) > 12 else 1
    rows = -(-len(people) // columns)
    furthest = 100 * max(max(one.high, one.raw) for one in people)
    edge = next(end for end in (25, 50, 75, 100) if furthest <= end or end == 100)
    with look():
        height = 1.15 + 0.19 * rows
        figure = sheet(height)
        for column in range(columns):
            some = people[column * rows : (column + 1) * rows]
            axes = figure.add_axes(
                (0.10 + 0.47 * column, 0.62 / height, 0.40 if columns == 2 else 0.8,
                 1 - 0.90 / height)
            )  # fmt: skip
            _people(axes, some, rows, edge, study.rates.average, study.limit)
        keys = [
            Line2D([], [], marker="o", color=BLUE, label="adjusted, 95 % interval"),
            Line2D([], [], marker="D", color=VERMILION, label="above the limit"),
            Line2D([], [], marker="|", color=GREY, linestyle="none", markeredgewidth=1.6,
                   label="raw"),
            Line2D([], [], color=INK, linestyle=(0, (4, 3)), label="middle operator"),
            Line2D([], [], color=VERMILION, linestyle=(0, (1, 1.5)), label="limit"),
        ]  # fmt: skip
        figure.legend(handles=keys[: 5 if study.limit is not None else 4], ncols=5, frameon=False,
                      loc="upper left", fontsize=8.5, bbox_to_anchor=(0.085, 1.0),
                      columnspacing=1.1, handlelength=1.7)  # fmt: skip
    worse = [one.operator for one in people if one.verdict is Verdict.WORSE]
    limit = "" if study.limit is None else f" {len(worse)} of {len(people)} lie above the limit."
    alt = (
        "Adjusted rate of wrong decisions of each operator, sorted by code and not by result: "
        f"from {percent(min(one.rate for one in people))} to "
        f"{percent(max(one.rate for one in people))}.{limit}"
    )
    return as_drawn(figure, "figure-people", alt)


def _people(axes: Axes, some: tuple[AdjustedRate, ...], rows: int, edge: int, average: float,
            limit: float | None) -> None:  # fmt: skip
    axes.axvline(100 * average, color=INK, linewidth=1.0, linestyle=(0, (4, 3)))
    if limit is not None:
        axes.axvline(100 * limit, color=VERMILION, linewidth=1.2, linestyle=(0, (1, 1.5)))
    for y, one in enumerate(some):
        worse = one.verdict is Verdict.WORSE
        dot(axes, y, one.rate, one.low, one.high, colour=VERMILION if worse else BLUE,
            marker="D" if worse else "o", size=4.2)  # fmt: skip
        axes.plot([100 * one.raw], [y], marker="|", markersize=8, color=GREY, markeredgewidth=1.4)
    percent_axis(axes, "wrong decisions", tuple(range(0, edge + 1, 25)))
    axes.set_xlim(0, edge)
    axes.set_ylim(rows - 0.4, -0.6)
    axes.set_yticks(range(len(some)), [one.operator for one in some])
    axes.tick_params(labelsize=8)
    axes.grid(axis="y", color=RULE, linewidth=0.3)
