"""The figures over time: months by step with their limits, what is shown beside them said in alt.

Points out of limits differ by shape and carry a label; events are labelled lines.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from matplotlib.axes import Axes

from scoring.cohort.answers_in_time import MONTHS_A_YEAR, month_said
from scoring.cohort.drawing import (
    BLUE,
    GREY,
    INK,
    RULE,
    VERMILION,
    Drawn,
    as_drawn,
    look,
    sheet,
)  # fmt: skip
from scoring.cohort.monthly import StationMonths
from scoring.cohort.saying import PER_CENT, STATION_NAMES, count, listed, percent
from scoring.records.people import Happening
from scoring.variation.chart import ControlChart

EVENT_NAMES = {
    "retraining": "retraining",
    "new_device": "new device",
    "new_chemical": "new chemical",
    "other": "event",
}
"""What a line in a figure calls each kind of event."""

PANEL_IN = 1.12
"""Height of one step's panel, inches: five of them and the axis stand on two thirds of A4."""

CLOSE = 0.8
"""Months between two lines below which the second has its letter on the other side. Seen by eye."""

MOST_NAMES = 13
"""Months with a name of their own on the axis; of more only every third has one."""


def place_of(day: date) -> float:
    """Return where a day stands on an axis of month numbers, whose marks are mid-month."""
    whole = day.year * MONTHS_A_YEAR + day.month - 1
    return whole - 0.5 + (day.day - 1) / monthrange(day.year, day.month)[1]


def event_words(event: Happening) -> str:
    """Return how an event is called: ``retraining, 12 people``."""
    who = count(len(event.operators), "person", "people") if event.operators else "everybody"
    return f"{EVENT_NAMES[event.kind]}, {who}"


def months_figure(rows: Sequence[StationMonths], events: Sequence[Happening]) -> Drawn | None:
    """Draw each step month by month, one above the other; None where no step has a chart."""
    charted = [(row, row.chart) for row in rows if isinstance(row.chart, ControlChart)]
    if not charted:
        return None
    first = min(row.months[0] for row, _ in charted)
    last = max(row.months[-1] for row, _ in charted)
    ranges = {row.station: _range(chart) for row, chart in charted}
    half = 0.56 * max(high - low for low, high in ranges.values())
    marks = event_marks([row.station for row, _ in charted], events, first, last)
    said = []
    with look():
        height = 0.75 + PANEL_IN * len(charted)
        figure = sheet(height)
        for number, (row, chart) in enumerate(charted):
            bottom = (0.5 + PANEL_IN * (len(charted) - 1 - number)) / height
            axes = figure.add_axes((0.02, bottom, 0.855, (PANEL_IN - 0.3) / height))
            low, high = ranges[row.station]
            _panel(axes, row, chart, (50 * (low + high), 100 * half))
            before = -1.0
            for event, words in marks:
                if event.station in (None, row.station):
                    at = place_of(event.day)
                    _event(axes, at, words, left=at - before < CLOSE or at > (first + 2 * last) / 3)
                    before = at
            axes.set_xlim(first - 0.6, last + 0.6)
            if number == len(charted) - 1:
                _month_axis(axes, first, last)
            else:
                axes.set_xticks([])
            said.append(_said(row, chart))
        figure.text(0.02, 1 - 0.13 / height, "wrong decisions in %", fontsize=8.5, color=GREY)
    alt = "Share of wrong decisions month by month, one panel a step, with limits. "
    return as_drawn(figure, "figure-months", alt + " ".join(said))


def event_marks(
    stations: Sequence[str], events: Sequence[Happening], first: int, last: int
) -> list[tuple[Happening, str]]:
    """Return the events to be drawn, by day, each with what is written at its line.

    In full where no panel has more than one; else a letter, told below the figure.

    Parameters
    ----------
    stations : sequence of str
        Those with a panel.
    events : sequence of Happening
    first, last : int
        Month numbers at the ends of the axis.
    """
    drawn = sorted(
        (
            event
            for event in events
            if (event.station is None or event.station in stations)
            and first - 0.5 <= place_of(event.day) <= last + 0.5
        ),
        key=lambda event: (event.day, event.kind, event.note),
    )
    crowded = any(
        sum(event.station in (None, station) for event in drawn) > 1 for station in stations
    )
    return [
        (event, chr(ord("A") + number % 26) if crowded
         else f"{event_words(event)}, {event.day.day} {event.day:%b}")
        for number, event in enumerate(drawn)
    ]  # fmt: skip


def _range(chart: ControlChart) -> tuple[float, float]:
    low = min(min(point.low, point.value) for point in chart.points)
    return low, max(max(point.high, point.value) for point in chart.points)


def _panel(
    axes: Axes, row: StationMonths, chart: ControlChart, window: tuple[float, float]
) -> None:
    x = list(row.months)
    points = chart.points
    low, high = (100 * p.low for p in points), (100 * p.high for p in points)
    for limit in (list(low), list(high)):
        axes.step(x, limit, where="mid", color=GREY, linewidth=0.9, linestyle=(0, (4, 2)))
    axes.plot([x[0] - 0.5, x[-1] + 0.5], [100 * chart.centre] * 2, color=INK, linewidth=0.9)
    axes.plot(x, [100 * p.value for p in points], color=BLUE, linewidth=1.2, marker="o",
              markersize=4.2)  # fmt: skip
    beyond, runs = signals(chart)
    for at, point in zip(x, points, strict=True):
        if point.label in beyond:
            axes.plot([at], [100 * point.value], color=VERMILION, marker="D", markersize=7.5,
                      markeredgecolor=INK, markeredgewidth=0.8, linestyle="none")  # fmt: skip
            above = point.value > point.centre
            axes.annotate(tenths(point.value), (at, 100 * point.value), xytext=(7, 0),
                          textcoords="offset points", fontsize=8.5, fontweight="bold",
                          va="bottom" if above else "top")  # fmt: skip
        elif point.label in runs:
            axes.plot([at], [100 * point.value], color=BLUE, marker="s", markersize=6.5,
                      markerfacecolor="white", markeredgewidth=1.5, linestyle="none")  # fmt: skip
    centre = 100 * chart.centre
    axes.set_ylim(window[0] - window[1], window[0] + window[1])
    axes.set_title(STATION_NAMES[row.station], fontsize=10.5, loc="left", pad=4)
    axes.set_yticks([])
    for value, words, where in (
        (100 * points[-1].high, f"limit {percent(points[-1].high)}", "center"),
        (centre, f"mean {percent(chart.centre)}", "center"),
        (100 * points[-1].low, f"limit {percent(points[-1].low)}", "center"),
    ):
        axes.annotate(words, (1.01, value), xycoords=("axes fraction", "data"), fontsize=8,
                      va=where, color=INK if words.startswith("mean") else GREY)  # fmt: skip
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)


def _event(axes: Axes, at: float, words: str, *, left: bool) -> None:
    axes.axvline(at, color=INK, linewidth=1.0, linestyle=(0, (1, 1.5)))
    axes.annotate(words, (at, 1.02), xycoords=("data", "axes fraction"), fontsize=8,
                  xytext=(-2 if left else 2, 0), textcoords="offset points",
                  ha="right" if left else "left", va="bottom")  # fmt: skip


def _month_axis(axes: Axes, first: int, last: int) -> None:
    every = 1 if last - first < MOST_NAMES else 3
    marks = [month for month in range(first, last + 1) if (month % MONTHS_A_YEAR) % every == 0]
    names: list[str] = []
    for month in marks or [first]:
        name = f"{date(2000, month % MONTHS_A_YEAR + 1, 1):%b}"
        year = not names or month % MONTHS_A_YEAR == 0
        names.append(f"{name}\n{month // MONTHS_A_YEAR}" if year else name)
    axes.set_xticks(marks or [first], names)
    axes.tick_params(axis="x", length=3, color=RULE, labelsize=8.5)


def tenths(share: float) -> str:
    """Return a share with a decimal: where a point lies close to its limit, whole ones hide it."""
    return f"{100 * share:.1f}{PER_CENT}"


def signals(chart: ControlChart) -> tuple[set[str], set[str]]:
    """Return the names of points outside their limits, and of those that complete a run."""
    beyond = {signal.at for signal in chart.signals if signal.rule == "beyond"}
    return beyond, {signal.at for signal in chart.signals} - beyond


def _said(row: StationMonths, chart: ControlChart) -> str:
    values = [point.value for point in chart.points]
    beyond, _ = signals(chart)
    out = [month_said(month) for month, point in zip(row.months, chart.points, strict=True)
           if point.label in beyond]  # fmt: skip
    outside = f"outside the limits: {listed(out)}" if out else "no month outside the limits"
    return (
        f"{STATION_NAMES[row.station]}: {percent(chart.centre)} on average, from "
        f"{percent(min(values))} to {percent(max(values))}, {outside}."
    )
