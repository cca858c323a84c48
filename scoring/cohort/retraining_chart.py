"""The figure of retrainings: the plain comparison, what chance alone does, what is left."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from scoring.cohort.answers_in_time import day_said
from scoring.cohort.drawing import BLUE, GREY, INK, RULE, Drawn, as_drawn, look, sheet
from scoring.cohort.retrained import Retrained
from scoring.cohort.saying import count
from scoring.cohort.time_findings import points
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.variation.retraining import RetrainingEffect

ROW_IN = 0.34
"""Height of a line of the figure, inches."""


def retraining_figure(rows: Sequence[Retrained]) -> Drawn | None:
    """Draw each retraining that could be worked out; None where none could."""
    known = [(row, row.effect) for row in rows if isinstance(row.effect, RetrainingEffect)]
    if not known:
        return None
    ends = [0.0]
    said = []
    with look():
        height = 0.75 + len(known) * (0.36 + 3 * ROW_IN)
        figure = sheet(height)
        axes = figure.add_axes((0.37, 0.5 / height, 0.42, 1 - 0.55 / height))
        y, names = 0.0, []
        for row, effect in known:
            axes.text(-0.87, y, f"{row.step[0].upper()}{row.step[1:]}, {day_said(row.event.day)}: "
                      f"{count(effect.retrained, 'person', 'people')}", fontsize=10,
                      transform=axes.get_yaxis_transform(), va="center")  # fmt: skip
            for name, found, marker in _lines(effect):
                y += 1
                names.append((y, name))
                if isinstance(found, TooLittleEvidence):
                    axes.annotate("too little evidence", (1.03, y), fontsize=8.5,
                                  xycoords=("axes fraction", "data"), va="center")  # fmt: skip
                    continue
                ends += _line(axes, y, found, marker)
                said.append(f"{name}: {points(found)}")
            y += 1.06
        reach = 1.08 * max(abs(end) for end in ends) or 1.0
        axes.axvline(0, color=INK, linewidth=0.9)
        axes.set_xlim(-reach if min(ends) < 0 else -0.06 * reach, reach)
        axes.set_ylim(y - 0.5, -0.5)
        axes.set_yticks([at for at, _ in names], [name for _, name in names], fontsize=9)
        axes.set_xlabel("change of right decisions in 100")
        axes.grid(axis="x", color=RULE, linewidth=0.6)
        axes.tick_params(length=0)
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
    alt = "What each retraining did, in right decisions of 100 with 95 % intervals. "
    return as_drawn(figure, "figure-retraining", f"{alt}{'; '.join(said)}.")


def _lines(effect: RetrainingEffect) -> tuple[tuple[str, Estimate | TooLittleEvidence, str], ...]:
    return (
        ("plain before and after", effect.naive, "o"),
        ("with no retraining at all", effect.chance_alone, "s"),
        ("the retraining itself", effect.points, "D"),
    )


def _line(axes: Axes, y: float, found: Estimate, marker: str) -> list[float]:
    main = marker == "D"
    colour = BLUE if main else GREY
    ends = [found.value]
    if found.low is not None and found.high is not None:
        axes.plot([found.low, found.high], [y, y], color=colour, linewidth=2.4 if main else 1.6,
                  solid_capstyle="butt")  # fmt: skip
        ends += [found.low, found.high]
    axes.plot([found.value], [y], marker=marker, markersize=8 if main else 6, color=colour,
              markerfacecolor=colour if main else "white", markeredgewidth=1.5)  # fmt: skip
    axes.annotate(points(found), (1.03, y), xycoords=("axes fraction", "data"), va="center",
                  fontsize=9, fontweight="bold" if main else "normal")  # fmt: skip
    return ends
