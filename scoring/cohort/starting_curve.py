"""How wrong decisions fall with months in post, and when an average new starter is at the level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from scoring.cohort.answers_in_time import AnswersInTime, Ints, mix_of, some_of
from scoring.cohort.drawing import BLUE, GREY, INK, RULE, Drawn, as_drawn, look, sheet
from scoring.cohort.new_starters import NewStarters
from scoring.cohort.retrained import LEARNT_AFTER
from scoring.cohort.saying import count, percent, span, with_span
from scoring.cohort.section import Finding
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.variation.intervals import Interval, wilson
from scoring.variation.learning import NEAR, LearningCurve, learning_curve

BIN_MONTHS = 2
"""Months in post that one counted point of the figure holds. A working judgement."""


MOST_EACH = 60
"""Most new starters, and most others, that the curve is fitted to, evenly spread over the codes:
more make the interval a little narrower and the page slower. A working judgement."""


@dataclass(frozen=True, slots=True)
class StartingCurve:
    """The curve and what it is drawn beside.

    Attributes
    ----------
    curve : LearningCurve
        Of right decisions over months in post, all steps together.
    counted : tuple of (float, Interval)
        Middle of the months and the rate of wrong decisions of new starters, as counted.
    """

    curve: LearningCurve
    counted: tuple[tuple[float, Interval], ...]


def starting_curve(
    answers: AnswersInTime, new: NewStarters | TooLittleEvidence
) -> StartingCurve | TooLittleEvidence:
    """Fit the curve to everybody whose time in post is known.

    Parameters
    ----------
    answers : AnswersInTime
    new : NewStarters or TooLittleEvidence
        Of the same answers; where there is too little for it, there is for the curve.

    Notes
    -----
    Counts by operator and month in post; from `LEARNT_AFTER` months on everybody stands at that
    value. The mix of scenarios is one column: the log odds of a right decision that the pooled
    rates of a cell's scenarios give. So cost grows with operators and months, not with scenarios.
    """
    if isinstance(new, TooLittleEvidence):
        return new
    people = np.zeros(len(answers.operators), dtype=bool)
    starters = people.copy()
    people[answers.operator[~np.isnan(answers.in_post)]] = True
    starters[np.searchsorted(answers.operators, [one.operator for one in new.starters])] = True
    used = some_of(answers, starters, MOST_EACH) | some_of(answers, people & ~starters, MOST_EACH)
    known = used[answers.operator] & ~np.isnan(answers.in_post)
    # Files may date a start after the first sitting: that is month 0.
    post = np.clip(answers.in_post[known], 0.0, LEARNT_AFTER)
    month = np.where(post < LEARNT_AFTER, np.floor(post), LEARNT_AFTER).astype(np.int64)
    size = int(LEARNT_AFTER) + 1
    cells, at = np.unique(answers.operator[known] * size + month, return_inverse=True)
    n, wrong = (
        np.bincount(at, counts[known]).astype(np.int64)
        for counts in (answers.decisions, answers.wrong)
    )
    operator, months = np.divmod(cells, size)
    mix = mix_of(answers, known, at)
    found = learning_curve(
        n - wrong,
        n,
        practice=months + np.where(months < LEARNT_AFTER, 0.5, 0.0),
        operators=np.array(answers.operators, dtype=object)[operator].tolist(),
        fixed={"mix": mix} if mix else None,
    )
    if isinstance(found, TooLittleEvidence):
        return found
    mine = starters[operator]
    return StartingCurve(found, _counted(months[mine], n[mine], wrong[mine]))


def _counted(months: Ints, n: Ints, wrong: Ints) -> tuple[tuple[float, Interval], ...]:
    group = months // BIN_MONTHS
    points = []
    for number in np.unique(group[months < LEARNT_AFTER]):
        inside = (group == number) & (months < LEARNT_AFTER)
        rate = wilson(float(wrong[inside].sum()), float(n[inside].sum()))
        points.append((float((number + 0.5) * BIN_MONTHS), rate))
    return tuple(points)


def curve_found(found: StartingCurve | TooLittleEvidence) -> Finding:
    """Say how long an average new starter needs to reach the others."""
    if isinstance(found, TooLittleEvidence):
        return Finding("learning", "There is no curve of learning.", found.said)
    curve = found.curve
    start = wrong_of(curve.at_start)
    far = wrong_of(curve.far)
    begins = (
        f"On the first day {with_span(start.value, start.low, start.high)} of decisions go wrong, "
        f"in the long run {with_span(far.value, far.low, far.high)} "
        f"({curve.curve.answers:,} decisions, all steps together)."
    )
    if not curve.learning:
        return Finding(
            "learning", "The data do not show that new starters get better with time.", begins
        )
    if isinstance(curve.until, TooLittleEvidence):
        return Finding(
            "learning",
            "New starters get better, but the data cannot tell when they reach the level.",
            f"{curve.until.said} {begins}",
        )
    return Finding(
        "learning",
        f"An average new starter is within {round(100 * NEAR)} in 100 of the others after "
        f"{months_said(curve.until)}.",
        begins,
    )


def months_said(until: Estimate) -> str:
    """Return months with their interval: ``7 months (95 % interval 4 to 15)``."""
    value = count(round(until.value), "month")
    if until.low is None:
        return f"{value} (no interval)"
    end = "no upper end" if until.high is None else f"{until.high:.0f}"
    return f"{value} (95 % interval {until.low:.0f} to {end})"


def wrong_of(right: Estimate) -> Estimate:
    """Return a rate of right decisions as that of wrong ones."""
    low = None if right.high is None else 1 - right.high
    high = None if right.low is None else 1 - right.low
    return Estimate(1 - right.value, low, high, right.n, right.confidence)


def starting_figure(found: StartingCurve, new: NewStarters) -> Drawn:
    """Draw the curve with its band, the points counted and the department's level."""
    curve = found.curve
    months = np.linspace(0.0, LEARNT_AFTER, 25)
    rates = [wrong_of(rate) for rate in curve.rate(months)]
    middle = [100 * rate.value for rate in rates]
    level = 100 * new.design.p0
    with look():
        figure = sheet(2.9)
        axes = figure.add_axes((0.045, 0.16, 0.72, 0.74))
        axes.fill_between(
            months,
            [100 * (rate.low or 0.0) for rate in rates],
            [100 * (rate.value if rate.high is None else rate.high) for rate in rates],
            color=BLUE, alpha=0.18, linewidth=0,
        )  # fmt: skip
        axes.plot(months, middle, color=BLUE, linewidth=1.8)
        for at, rate in found.counted:
            axes.plot([at, at], [100 * rate.low, 100 * rate.high], color=GREY, linewidth=1.2)
            axes.plot([at], [100 * rate.estimate], marker="o", markersize=5, color=GREY,
                      markerfacecolor="white", markeredgewidth=1.3)  # fmt: skip
        axes.axhline(level, color=INK, linewidth=1.0, linestyle=(0, (4, 3)))
        ends = [("new starters (model)", middle[-1], BLUE),
                (f"long in post: {percent(new.design.p0)}", level, INK)]  # fmt: skip
        _labels(axes, ends)
        if curve.learning and isinstance(curve.until, Estimate):
            axes.axvline(curve.until.value, color=INK, linewidth=1.0, linestyle=(0, (1, 1.5)))
            axes.annotate(f"at the level after {count(round(curve.until.value), 'month')}",
                          (curve.until.value, 1.0), xycoords=("data", "axes fraction"),
                          xytext=(4, -2), textcoords="offset points", fontsize=8.5,
                          va="top")  # fmt: skip
        axes.set_xlim(0, LEARNT_AFTER)
        axes.set_ylim(bottom=0)
        axes.set_xticks(range(0, int(LEARNT_AFTER) + 1, 3))
        axes.set_xlabel("months in post")
        axes.set_title("wrong decisions in %", fontsize=8.5, loc="left", color=GREY)
        axes.grid(axis="y", color=RULE, linewidth=0.5)
        axes.tick_params(length=0)
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
    alt = f"Wrong decisions by months in post. {curve_found(found)}"
    counted = "; ".join(
        f"around month {at:.0f} {percent(rate.estimate)} ({span(rate.low, rate.high)})"
        for at, rate in found.counted
    )
    return as_drawn(figure, "figure-starters", f"{alt} As counted: {counted}.")


def _labels(axes: Axes, ends: list[tuple[str, float, str]]) -> None:
    """Write what the lines are at their right ends, one above its line and one below."""
    upper = max(ends, key=lambda end: end[1])
    for end in ends:
        words, value, colour = end
        axes.annotate(words, (1.01, value), xycoords=("axes fraction", "data"), fontsize=8.5,
                      xytext=(0, 2 if end is upper else -2), textcoords="offset points",
                      va="bottom" if end is upper else "top", color=colour)  # fmt: skip
