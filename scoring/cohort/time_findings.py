"""What the parts of the section on time found, as plain sentences with interval and n."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.catalogue import Mistake
from scoring.cohort.answers_in_time import day_said, month_said
from scoring.cohort.monthly import StationMonths
from scoring.cohort.new_starters import NewStarters
from scoring.cohort.retrained import Retrained
from scoring.cohort.saying import STATION_WORK, count, listed, percent, span
from scoring.cohort.section import Finding
from scoring.cohort.time_charts import signals, tenths
from scoring.cohort.where_and_when import Place, WhereAndWhen
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.variation.chart import ControlChart
from scoring.variation.retraining import RetrainingEffect

MOST_NAMED = 3
"""Places told in one finding: more are read in the table. A working judgement."""


def months_found(rows: Sequence[StationMonths]) -> Finding:
    """Say at which step, and when, the rate moved by more than chance does."""
    charts = [(row, row.chart) for row in rows if isinstance(row.chart, ControlChart)]
    if not charts:
        said = sorted({row.chart.said for row in rows if isinstance(row.chart, TooLittleEvidence)})
        return Finding(
            "time", "The data cannot tell whether results change from month to month.",
            " ".join(said) or "No scenario was answered whole.",
        )  # fmt: skip
    every = charts[0][1].false_alarm_every.value
    chance = (
        f"With no change at all, chance alone marks about one month in {round(every)} at a step; "
        f"{count(sum(len(chart.points) for _, chart in charts), 'month')} of all steps are charted."
    )
    moved = []
    for row, chart in charts:
        beyond, runs = signals(chart)
        for month, point in zip(row.months, chart.points, strict=True):
            if point.label in beyond:
                side = "more" if point.value > point.centre else "fewer"
                moved.append(
                    f"in {STATION_WORK[row.station]} {month_said(month)} had {side} wrong "
                    f"decisions than chance explains ({tenths(point.value)}; limits "
                    f"{100 * point.low:.1f} to {tenths(point.high)})"
                )
        if runs and not beyond:
            moved.append(
                f"in {STATION_WORK[row.station]} eight months in a row lie on the same side of the "
                "mean, which points to a slow change"
            )
    if not moved:
        low = [row for row, chart in charts if chart.provisional]
        early = (
            " The limits are provisional, because they rest on fewer than 20 months." if low else ""
        )
        return Finding(
            "time",
            "Month by month the rate of wrong decisions is steady"
            + (" at every step." if len(charts) > 1 else "."),
            f"No month lies outside what chance does.{early} {chance}",
        )
    first, rest = moved[0], moved[1:]
    return Finding("time", f"{first[0].upper()}{first[1:]}.", " ".join(
        [*(f"{each[0].upper()}{each[1:]}." for each in rest), chance]
    ))  # fmt: skip


def kind_words(place: Place) -> str:
    """Return the step or kind of mistake inside a sentence: ``rinsing (final water)``."""
    work = STATION_WORK[place.station]
    return f"{work} ({place.topic})" if place.topic else work


def where_found(
    where: WhereAndWhen | TooLittleEvidence, catalogue: Mapping[str, Mistake]
) -> Finding:
    """Say which site and shift stands out at what, or that none does."""
    if isinstance(where, TooLittleEvidence):
        return Finding("where", "Sites and shifts cannot be compared.", where.said)
    tried = (
        f"{count(where.compared, 'comparison')} of a site and shift with all others "
        f"{'was' if where.compared == 1 else 'were'} made"
    )
    named = where.named()
    if not named:
        return Finding(
            "where", "No site and shift stands out at any step or kind of mistake.",
            f"{tried}. That is no proof that all are alike: small differences stay hidden.",
        )  # fmt: skip
    first = named[0]
    entry = catalogue.get(first.mistake)
    mostly = f" Most often it is: {entry.mistake[0].lower()}{entry.mistake[1:]}." if entry else ""
    steps = {row.station for row in named if row.place == first.place and not row.topic}
    alone = (
        " At no other step as a whole does it stand out, which points to this one thing and not "
        "to the people in general."
        if steps <= {first.station}
        else ""
    )
    others = [f"{row.place} in {kind_words(row)}" for row in named[1 : MOST_NAMED + 1]]
    more = len(named) - 1 - len(others)
    also = f" Also: {listed(others)}{f', and {more} more' if more else ''}." if others else ""
    return Finding(
        "where",
        f"{first.place}: {percent(first.rate.value)} of decisions in {kind_words(first)} go wrong, "
        f"against {percent(first.others)} elsewhere at the same decisions.",
        f"95 % interval {span(first.rate.low, first.rate.high)}; "
        f"{count(first.decisions, 'decision')}, {count(first.operators, 'operator')}.{mostly}"
        f"{alone}{also} {tried}; "
        f"of those that are named about {percent(where.rate)} may be chance.",
    )


def starters_found(new: NewStarters | TooLittleEvidence) -> Finding:
    """Say how many new starters have shown the department's level."""
    if isinstance(new, TooLittleEvidence):
        return Finding("learning", "The data cannot tell how new starters come up.", new.said)
    total = len(new.starters)
    shown = [starter for starter in new.starters if starter.verdict == "shown"]
    little = sum(starter.verdict == "too little evidence" for starter in new.starters)
    after = sorted(starter.in_post for starter in shown if starter.in_post is not None)
    when = ""
    if after:
        months = (f"{after[0]:.0f} to {after[-1]:.0f}" if round(after[0]) != round(after[-1])
                  else f"{after[0]:.0f}")  # fmt: skip
        when = f" They needed {months} months in post."
    few = f" For {little} there are too few answers for a verdict." if little else ""
    return Finding(
        "learning",
        f"{len(shown)} of {count(total, 'new starter has', 'new starters have')} shown the "
        "department's level so far.",
        f"That level is {percent(new.design.p0)} wrong decisions, the rate of "
        f"{count(new.established, 'operator')} long in post.{when}{few} Not shown is not the same "
        "as not able.",
    )


def retrained_found(one: Retrained) -> Finding:
    """Say what one retraining did, beside what would have come anyway."""
    title = f"The retraining in {one.step} of {day_said(one.event.day)}"
    if isinstance(one.effect, TooLittleEvidence):
        return Finding("retraining", f"{title} cannot be judged.", one.effect.said)
    effect = one.effect
    low, high = effect.points.low, effect.points.high
    if low is None or high is None:
        verdict = f"{title} has no interval, so the data cannot tell whether it helped."
    elif low > 0:
        verdict = f"{title} helped: {points(effect.points)} more right decisions in 100."
    elif high < 0:
        verdict = f"After {title[0].lower()}{title[1:]} those retrained did worse than expected."
    else:
        verdict = f"{title}: the data cannot tell its effect from none."
    return Finding("retraining", verdict, f"{regression_said(effect)} {model_said(effect)}")


def points(found: Estimate) -> str:
    """Return points as whole numbers with their interval: ``5 (-3 to 14)``."""
    if found.low is None or found.high is None:
        return f"{signed(found.value)} (no interval)"
    return f"{signed(found.value)} ({signed(found.low)} to {signed(found.high)})"


def signed(value: float) -> str:
    """Return a whole number with its sign, minus as a true minus."""
    whole = round(value)
    sign = "\N{MINUS SIGN}" if whole < 0 else "+" if whole > 0 else ""
    return f"{sign}{abs(whole)}"


def regression_said(effect: RetrainingEffect) -> str:
    """Say in plain words what the plain comparison hides."""
    change = round(effect.naive.value)
    people = count(effect.retrained, "person", "people")
    plain = (
        f"Of 100 decisions the {people} got {abs(change)} {'more' if change > 0 else 'fewer'} "
        "right after it than before"
        if change
        else f"The {people} got as many decisions right after it as before"
    )
    if isinstance(effect.chance_alone, TooLittleEvidence):
        return (
            f"{plain}. How much of that is chance cannot be worked out: {effect.chance_alone.said}"
        )
    return (
        f"{plain}. With no retraining at all {signed(effect.chance_alone.value)} was to be "
        "expected: part of a bad result is bad luck, and luck does not last."
    )


def model_said(effect: RetrainingEffect) -> str:
    """Say what the model leaves for the retraining."""
    ratio = effect.odds_ratio
    ends = (
        "" if ratio.low is None or ratio.high is None else f", {ratio.low:.2f} to {ratio.high:.2f}"
    )
    return (
        f"Beside the {count(effect.others, 'colleague')} who were not retrained, and who changed "
        f"over that time too, the retraining itself comes to {points(effect.points)} in 100 "
        f"(odds ratio {ratio.value:.2f}{ends}; 95 % intervals)."
    )
