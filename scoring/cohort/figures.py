"""The figures of the steps: what depends on who, where the risk sits, results by verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from matplotlib.patches import Patch

from scoring.cohort.drawing import (
    GREEN,
    INK,
    ORANGE,
    VERMILION,
    Drawn,
    as_drawn,
    dot,
    look,
    percent_axis,
    sheet,
)  # fmt: skip
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.cohort.saying import STATION_NAMES, number_with_span, percent, with_span
from scoring.cohort.step_risk import StepRisk
from scoring.evidence import Estimate
from scoring.marking.marks import Verdict
from scoring.model import Station
from scoring.variation.between import BetweenShare

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


def steps_figure(outcomes: Sequence[StationOutcome], risks: Mapping[Station, StepRisk]) -> Drawn:
    """Draw, by step, what lies between operators and, beside it, how much risk there is."""
    rows = ordered_by_who(outcomes)
    said = []
    most = _edge(max((_top(risks[row.station].weighted) for row in rows), default=0.0))
    with look():
        figure = sheet(1.15 + 0.52 * len(rows))
        height = figure.get_figheight()
        place = (0.62 / height, 1 - 0.98 / height)
        left = figure.add_axes((0.18, place[0], 0.22, place[1]))
        right = figure.add_axes((0.60, place[0], 0.19, place[1]))
        for y, row in enumerate(rows):
            name, between = STATION_NAMES[row.station], row.between
            text, bold = "too little evidence", "normal"
            if isinstance(between, BetweenShare):
                dot(left, y, between.share, between.low, between.high, size=8)
                text, bold = with_span(between.share, between.low, between.high), "bold"
            left.text(106, y, text, weight=bold, va="center", fontsize=9, clip_on=False)
            risk = risks[row.station].weighted
            weight = "no decision"
            if risk is not None:
                low, high = (None if end is None else end / most for end in (risk.low, risk.high))
                dot(right, y, risk.value / most, low, high, colour=VERMILION, marker="s", size=7)
                weight = number_with_span(risk)
            right.text(106, y, weight, weight="bold", va="center", fontsize=9, clip_on=False)
            said.append(f"{name}: {text} between operators, risk {weight}")
        left.set_yticks(range(len(rows)), [STATION_NAMES[row.station] for row in rows])
        left.tick_params(axis="y", labelsize=11, pad=8)
        for axes in (left, right):
            axes.set_ylim(len(rows) - 0.5, -0.5)
        left.set_title("What depends on who", loc="left", fontsize=10.5, weight="bold", pad=10)
        right.set_title("Where the risk sits", loc="left", fontsize=10.5, weight="bold", pad=10)
        percent_axis(left, "share of the differences in score\nthat lies between operators",
                     (0, 50, 100))  # fmt: skip
        percent_axis(right, "severity of mistakes\nper 100 decisions", (0, 50, 100))
        right.set_xticks([0, 50, 100], ["0", f"{most / 2:.0f}", f"{most:.0f}"])
        right.set_yticks([])
        for axes in (left, right):
            axes.xaxis.label.set_fontsize(8.5)
    alt = "Steps, those that depend most on who first; risk is severity per 100 decisions. "
    return as_drawn(figure, "figure-steps", f"{alt}{'; '.join(said)}.")


def _edge(top: float) -> float:
    """Return a round number to end a scale at: 20, 50, 100, 150, 200, …."""
    return next((end for end in (20.0, 50.0) if top <= end), max(1.0, ceil(top / 50)) * 50.0)


def _top(risk: Estimate | None) -> float:
    return 0.0 if risk is None else risk.value if risk.high is None else risk.high


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
