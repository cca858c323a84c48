"""The figures of the report: steps by who, results by step, people by code."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.patches import Patch

from scoring.cohort.drawing import (
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    RULE,
    VERMILION,
    Drawn,
    as_drawn,
    dot,
    look,
    percent_axis,
    sheet,
)  # fmt: skip
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.cohort.saying import STATION_NAMES, count, percent, with_span
from scoring.marking.marks import Verdict
from scoring.variation.between import BetweenShare

MOST_PEOPLE = 60
"""More people than this give no figure of persons: their rows would no longer be readable on
one sheet. A working judgement; the table file still has everybody."""

_VERDICT_LOOK: dict[Verdict, tuple[str, str]] = {
    "competent": (GREEN, ""),
    "borderline": (ORANGE, "//"),
    "not yet": (VERMILION, "xx"),
    "not assessed": ("white", ".."),
}


def ordered_by_who(outcomes: Sequence[StationOutcome]) -> list[StationOutcome]:
    """Return the steps, those that depend most on who first, those without a figure last."""
    return sorted(
        outcomes,
        key=lambda o: -o.between.share if isinstance(o.between, BetweenShare) else 1.0,
    )


def who_figure(outcomes: Sequence[StationOutcome]) -> Drawn:
    """Draw how much of the differences lies between operators, by step."""
    rows = ordered_by_who(outcomes)
    said = []
    with look():
        figure = sheet(1.0 + 0.52 * len(rows))
        axes = figure.add_axes((0.16, 0.80 / figure.get_figheight(), 0.47,
                                1 - 0.85 / figure.get_figheight()))  # fmt: skip
        for y, outcome in enumerate(rows):
            name, between = STATION_NAMES[outcome.station], outcome.between
            if isinstance(between, BetweenShare):
                dot(axes, y, between.share, between.low, between.high, size=8)
                text = with_span(between.share, between.low, between.high)
                weight = "bold"
            else:
                text, weight = "too little evidence", "normal"
            n = f"{count(outcome.operators, 'operator')}, {count(outcome.sittings, 'sitting')}"
            axes.text(104, y - 0.16, text, weight=weight, va="center", clip_on=False)
            axes.text(104, y + 0.2, n, color=GREY, va="center", fontsize=8.5, clip_on=False)
            said.append(f"{name} {text}, {n}")
        axes.set_yticks(range(len(rows)), [STATION_NAMES[row.station] for row in rows])
        axes.tick_params(axis="y", labelsize=11, pad=8)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        percent_axis(axes, "differences in score that lie between operators (line: 95 % interval)")
        axes.xaxis.label.set_fontsize(9)
        axes.xaxis.set_label_coords(0.5, -0.38 / (figure.get_figheight() - 0.85))
        below = -0.70 / (figure.get_figheight() - 0.85)
        axes.text(0, below, "0 %: people are alike", color=GREY, fontsize=8.5,
                  transform=axes.transAxes)  # fmt: skip
        axes.text(1, below, "100 %: only who matters", color=GREY, fontsize=8.5, ha="right",
                  transform=axes.transAxes)  # fmt: skip
    alt = "Share of the differences in score between operators, by step, largest first. "
    return as_drawn(figure, "figure-who", f"{alt}{'; '.join(said)}.")


def outcome_figure(outcomes: Sequence[StationOutcome]) -> Drawn:
    """Draw the mean share of points and the verdicts, by step in the order of the work."""
    rows = list(outcomes)
    said = []
    with look():
        figure = sheet(1.2 + 0.5 * len(rows))
        height = figure.get_figheight()
        place = (0.62 / height, 1 - 0.95 / height)
        left = figure.add_axes((0.16, place[0], 0.30, place[1]))
        right = figure.add_axes((0.55, place[0], 0.42, place[1]))
        most = max(sum(row.verdicts.values()) for row in rows)
        for y, row in enumerate(rows):
            if row.mean is not None:
                dot(left, y, row.mean, row.low, row.high, size=7)
                left.text(100 * row.mean, y - 0.32, percent(row.mean), ha="center", fontsize=8.5)
            start = 0
            for verdict in VERDICTS:
                number = row.verdicts[verdict]
                colour, hatch = _VERDICT_LOOK[verdict]
                right.barh(y, number, left=start, height=0.56, color=colour, hatch=hatch,
                           edgecolor=INK, linewidth=0.7)  # fmt: skip
                if number >= 0.05 * most:
                    right.text(start + number / 2, y, str(number), ha="center", va="center",
                               bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.2,
                                     "alpha": 1.0})  # fmt: skip
                start += number
            counts = ", ".join(f"{row.verdicts[v]} {v}" for v in VERDICTS)
            said.append(
                f"{STATION_NAMES[row.station]}: mean {with_span(row.mean, row.low, row.high)} "
                f"of the points, {counts}"
            )
        left.set_yticks(range(len(rows)), [STATION_NAMES[row.station] for row in rows])
        left.tick_params(axis="y", labelsize=11)
        for axes in (left, right):
            axes.set_ylim(len(rows) - 0.4, -0.6)
        percent_axis(left, "mean share of points (line: 95 % interval)", (0, 50, 100))
        right.set_xlim(0, most)
        right.set_yticks([])
        right.set_xlabel("sittings, by verdict")
        right.tick_params(length=0)
        for side in ("top", "right", "left"):
            right.spines[side].set_visible(False)
        keys = [
            Patch(facecolor=_VERDICT_LOOK[v][0], hatch=_VERDICT_LOOK[v][1], edgecolor=INK, label=v)
            for v in VERDICTS
        ]
        figure.legend(handles=keys, ncols=4, loc="upper right", frameon=False, fontsize=9,
                      bbox_to_anchor=(0.985, 1.0), columnspacing=1.2, handlelength=1.8)  # fmt: skip
    return as_drawn(figure, "figure-outcome", f"Results by step. {'; '.join(said)}.")


def people_figure(outcomes: Sequence[StationOutcome]) -> Drawn | None:
    """Draw each operator at each step, sorted by code; None for nobody or too many to read."""
    codes = sorted({person.operator for outcome in outcomes for person in outcome.people})
    if not codes or len(codes) > MOST_PEOPLE:
        return None
    rank = {code: y for y, code in enumerate(codes)}
    said = []
    with look():
        height = 1.1 + 0.17 * len(codes)
        figure = sheet(height)
        width = 0.86 / len(outcomes)
        for k, outcome in enumerate(outcomes):
            axes = figure.add_axes(
                (0.12 + k * width, 0.55 / height, width - 0.03, 1 - 0.95 / height)
            )
            axes.set_title(STATION_NAMES[outcome.station], fontsize=10.5, loc="left")
            if outcome.mean is not None:
                axes.axvline(100 * outcome.mean, color=INK, linewidth=1.0, linestyle=(0, (4, 3)))
            for person in outcome.people:
                colour = BLUE if person.enough else GREY
                dot(axes, rank[person.operator], person.mean, person.low, person.high,
                    colour=colour, filled=person.enough, size=4.2)  # fmt: skip
            percent_axis(axes, "", (0, 50, 100), sign="")
            axes.tick_params(labelsize=8)
            axes.set_ylim(len(codes) - 0.4, -0.6)
            axes.set_yticks(range(len(codes)), codes if k == 0 else [""] * len(codes))
            axes.grid(axis="y", color=RULE, linewidth=0.3)
            said.append(_spread(outcome))
        key = ("share of points in %; line: 95 % interval; dashes: mean of all; "
               "open circle: too little evidence")  # fmt: skip
        figure.text(0.12, 0.10 / height, key, fontsize=8.5, color=GREY)
    alt = "Share of points of each operator at each step, sorted by code and not by result. "
    return as_drawn(figure, "figure-people", alt + " ".join(said))


def _spread(outcome: StationOutcome) -> str:
    if not outcome.people:
        return f"{STATION_NAMES[outcome.station]}: nobody has finished it."
    means = [person.mean for person in outcome.people]
    return f"{STATION_NAMES[outcome.station]}: from {percent(min(means))} to {percent(max(means))}."
