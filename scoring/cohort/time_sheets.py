"""The tables of the section on time, to take away."""

from __future__ import annotations

from collections.abc import Sequence

from scoring.cohort.answers_in_time import month_name
from scoring.cohort.monthly import StationMonths
from scoring.cohort.new_starters import NewStarters
from scoring.cohort.retrained import Retrained
from scoring.cohort.section import Sheet
from scoring.cohort.time_charts import signals
from scoring.cohort.where_and_when import WhereAndWhen
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.spreadsheet import Row
from scoring.variation.chart import ControlChart


def time_sheets(
    months: Sequence[StationMonths],
    where: WhereAndWhen | TooLittleEvidence,
    new: NewStarters | TooLittleEvidence,
    retrained: Sequence[Retrained],
) -> tuple[Sheet, ...]:
    """Return the tables of the section, each with its head even where it has no row.

    Parameters
    ----------
    months : sequence of StationMonths
    where : WhereAndWhen or TooLittleEvidence
    new : NewStarters or TooLittleEvidence
    retrained : sequence of Retrained
    """
    return (
        Sheet(
            "wrong-by-month",
            ("step", "month", "decisions", "wrong", "rate_counted", "rate_charted", "mean",
             "low_limit", "high_limit", "chart", "outside_limits"),
            [row for one in months for row in _months(one)],
        ),
        Sheet(
            "where-and-when",
            ("place", "step", "kind_of_mistake", "operators", "decisions", "wrong", "rate", "low",
             "high", "rate_elsewhere", "p", "q", "stands_out"),
            [
                (r.place, r.station, r.topic or None, r.operators, r.decisions, r.wrong,
                 r.rate.value, r.rate.low, r.rate.high, r.others, r.p, r.q, r.named)
                for r in (where.rows if isinstance(where, WhereAndWhen) else ())
            ],
        ),
        Sheet(
            "new-starters",
            ("operator", "months_in_post_first", "months_in_post_last", "decisions", "rate", "low",
             "high", "verdict", "shown_after_decisions", "shown_in", "shown_months_in_post",
             "p0", "p1", "alpha", "beta", "arl0", "arl1"),
            _starters(new) if isinstance(new, NewStarters) else [],
        ),
        Sheet(
            "retraining",
            ("date", "step", "figure", "points", "low", "high", "retrained", "others"),
            [row for one in retrained for row in _retrained(one)],
        ),
    )  # fmt: skip


def _months(one: StationMonths) -> list[Row]:
    chart = one.chart
    if not isinstance(chart, ControlChart):
        return [
            (one.station, month_name(month), n, wrong, wrong / n, *[None] * 6)
            for month, n, wrong in zip(one.months, one.n, one.wrong, strict=True)
        ]
    beyond, _ = signals(chart)
    return [
        (one.station, month_name(month), n, wrong, wrong / n, point.value, point.centre, point.low,
         point.high, chart.form, point.label in beyond)
        for month, n, wrong, point in zip(one.months, one.n, one.wrong, chart.points, strict=True)
    ]  # fmt: skip


def _starters(new: NewStarters) -> list[Row]:
    design = new.design
    chosen = (design.p0, design.p1, design.alpha, design.beta, design.arl0, design.arl1)
    return [
        (one.operator, one.from_month, one.to_month, one.rate.n, one.rate.value, one.rate.low,
         one.rate.high, one.verdict, one.after,
         None if one.month is None else month_name(one.month), one.in_post, *chosen)
        for one in new.starters
    ]  # fmt: skip


def _retrained(one: Retrained) -> list[Row]:
    effect = one.effect
    if isinstance(effect, TooLittleEvidence):
        return [(one.event.day, one.step, effect.said, *[None] * 5)]
    people = (effect.retrained, effect.others)
    return [
        (one.event.day, one.step, name, *_numbers(found), *people)
        for name, found in (
            ("plain before and after", effect.naive),
            ("with no retraining at all", effect.chance_alone),
            ("retraining in one model", effect.points),
            ("retrained against others, adjusted", effect.adjusted),
            ("odds ratio", effect.odds_ratio),
        )
    ]


def _numbers(found: Estimate | TooLittleEvidence) -> tuple[float | None, ...]:
    if isinstance(found, TooLittleEvidence):
        return (None, None, None)
    return (found.value, found.low, found.high)
