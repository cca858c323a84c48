"""The findings of the steps as plain sentences, computed from its tables.

Steps first and never a ranking of people. Each sentence carries its interval
and n, and says what the data cannot tell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.cohort.frequent import FrequentMistake
from scoring.cohort.outcome import StationOutcome
from scoring.cohort.saying import STATION_WORK, count, listed, percent, span, with_span
from scoring.cohort.section import Finding
from scoring.cohort.step_risk import StepRisk
from scoring.cohort.step_variation import SURELY, StepVariation
from scoring.evidence import Estimate
from scoring.model import Station
from scoring.variation.between import BetweenShare


def findings(
    outcomes: Sequence[StationOutcome],
    mistakes: Mapping[Station, Sequence[FrequentMistake]],
    steps: Sequence[StepVariation] = (),
    risks: Sequence[StepRisk] = (),
    most: Mapping[Station, float] | None = None,
) -> tuple[Finding, ...]:
    """Return the findings of the steps, the most useful first.

    Parameters
    ----------
    outcomes : sequence of StationOutcome
    mistakes : mapping of Station to sequence of FrequentMistake
    steps : sequence of StepVariation
    risks : sequence of StepRisk
    most : mapping of Station to float, optional
        Probability of each step that people differ most at it.

    Notes
    -----
    An empty cohort gives one finding that says what to do first.
    """
    if not any(outcome.sittings for outcome in outcomes):
        return (
            Finding(
                "nothing",
                "There is nothing to show yet.",
                "No sitting has been finished and marked. First seat operators (sinkside exam "
                "seat), let operators sit an exam (sinkside learn), and mark it (sinkside exam "
                "mark). Then open this page again. To see an example, run: sinkside demo.",
            ),
        )
    found = (
        _who(outcomes, {step.station: step for step in steps}, most or {}),
        _risk(outcomes, risks),
        _result(outcomes),
        _mistake(mistakes),
    )
    return tuple(finding for finding in found if finding is not None)


def by_share(outcomes: Sequence[StationOutcome]) -> list[tuple[Station, BetweenShare]]:
    """Return the stations that have a between-operator figure, the largest first."""
    known = [
        (outcome.station, outcome.between)
        for outcome in outcomes
        if isinstance(outcome.between, BetweenShare)
    ]
    return sorted(known, key=lambda pair: -pair[1].share)


def _who(
    outcomes: Sequence[StationOutcome],
    steps: Mapping[Station, StepVariation],
    most: Mapping[Station, float],
) -> Finding:
    known = by_share(outcomes)
    if not known:
        reasons = {
            f"{_step(outcome.station).capitalize()}: {outcome.between.said}"
            for outcome in outcomes
            if not isinstance(outcome.between, BetweenShare)
        }
        return Finding(
            "who",
            "Too little evidence to say how much depends on who does the work.",
            " ".join(sorted(reasons)),
        )
    station, top = known[0]
    if top.low == 0.0:
        return Finding(
            "who",
            "At no step do the data show that the result depends on who does the work.",
            f"The largest share is in {_step(station)}: {with_span(top.share, top.low, top.high)} "
            f"of the differences in score lie between operators ({_n(top)}). That interval "
            f"reaches down to 0, so the data cannot tell it from none.",
        )
    chance = most.get(station)
    sure = chance is not None and chance >= SURELY
    compared = "; that is more than in any other step" if sure else ""
    headline = (
        f"Of the differences in {_step(station)} scores, {percent(top.share)} "
        f"[{span(top.low, top.high, sign='')}] lies between operators{compared}."
    )
    if chance is None:
        support = "There is no other step to compare it with."
    elif sure:
        support = f"The probability that it is the largest share is {_probability(chance)}."
    else:
        support = (
            f"The probability that it is the largest share is only {_probability(chance)}, so the "
            "data cannot tell for sure at which step people differ most."
        )
    spread = steps[station].range if station in steps else None
    if spread is not None:
        support += (
            f" A strong operator (the second best of ten) gets about "
            f"{percent(spread.lower.value)} of these decisions wrong, a weak one (the second "
            f"weakest of ten) about {percent(spread.upper.value)}."
        )
    return Finding("who", headline, f"In brackets: 95 % interval ({_n(top)}). {support}")


def _probability(chance: float) -> str:
    return "above 99\N{NO-BREAK SPACE}%" if chance > 0.99 else percent(chance)


def _risk(outcomes: Sequence[StationOutcome], risks: Sequence[StepRisk]) -> Finding | None:
    known = sorted(
        ((risk.weighted, risk) for risk in risks if risk.weighted is not None),
        key=lambda pair: -pair[0].value,
    )
    if not known:
        return None
    top, first = known[0]
    if top.value == 0:
        return Finding("risk", "No mistake was made at any step.", _unsafe(outcomes, None))
    alike = [
        _step(other.station)
        for weighted, other in known[1:]
        if top.low is None or weighted.high is None or weighted.high >= top.low
    ]
    if len(known) == 1:
        compared = ""
    elif alike:
        compared = f" The data cannot tell it for sure from {listed(alike)}."
    else:
        compared = " No other step's interval comes near."
    return Finding(
        "risk",
        f"Most risk sits in {_step(first.station)}: {top.value:.0f} points of severity per "
        "100 decisions.",
        f"{_interval(top)}{count(top.n, 'operator')}, {first.mistakes} mistakes in "
        f"{first.decisions} decisions; severity of each from 1 to 4.{compared} "
        f"{_unsafe(outcomes, first.station)}",
    )


def _interval(found: Estimate) -> str:
    if found.low is None or found.high is None:
        return "No interval: too few operators. "
    return f"95 % interval {found.low:.0f} to {found.high:.0f}, "


def _unsafe(outcomes: Sequence[StationOutcome], station: Station | None) -> str:
    """Say who answered a critical decision unsafely: at one step, or at the worst."""
    known = [o for o in outcomes if o.critical and station in (None, o.station)]
    if not known:
        return ""
    worst = max(known, key=lambda o: o.critical.estimate if o.critical else 0.0)
    if worst.critical is None:
        return ""
    n = f"{worst.critical_operators} of {count(round(worst.critical.n), 'operator')}"
    interval = span(worst.critical.low, worst.critical.high)
    if worst.critical_operators == 0:
        return (
            f"Nobody gave an unsafe answer to a critical decision in {_step(worst.station)} ({n}). "
            f"That does not prove that there is no risk: the 95 % interval is {interval}."
        )
    return (
        f"{n} gave an unsafe answer to a critical decision in {_step(worst.station)} at least "
        f"once ({percent(worst.critical.estimate)}, 95 % interval {interval})."
    )


def _result(outcomes: Sequence[StationOutcome]) -> Finding | None:
    known = sorted(
        (outcome for outcome in outcomes if outcome.mean is not None),
        key=lambda outcome: outcome.mean or 0.0,
    )
    low, rest = known[0], known[1:]
    n = f"{count(low.operators, 'operator')}, {count(low.sittings, 'sitting')}"
    if low.low is None or low.high is None:
        people = "one operator" if low.operators == 1 else "the same result for every operator"
        return Finding(
            "result",
            f"The lowest results are in {_step(low.station)}: {percent(low.mean)} of the points."
            if rest
            else f"The result in {_step(low.station)} is {percent(low.mean)} of the points.",
            f"{n}. There is no interval, because there is only {people}.",
        )
    alike = [_step(other.station) for other in rest if other.low is None or other.low <= low.high]
    compared = (
        f" The interval overlaps with {_those(alike)}, so the order of these steps is not sure."
        if alike
        else ""
    )
    return Finding(
        "result",
        f"The lowest results are in {_step(low.station)}: operators earn {percent(low.mean)} of "
        "the points on average."
        if rest
        else f"In {_step(low.station)} operators earn {percent(low.mean)} of the points on "
        "average.",
        f"95 % interval {span(low.low, low.high)}, {n}.{compared}",
    )


def _mistake(mistakes: Mapping[Station, Sequence[FrequentMistake]]) -> Finding | None:
    every = [mistake for station in mistakes.values() for mistake in station]
    if not every:
        return None
    first = max(every, key=lambda m: (m.share.estimate, m.severity, m.times, m.mistake))
    alike = sum(other.share.high >= first.share.low for other in every) - 1
    text = first.text[0].lower() + first.text[1:]
    right = f" Right is: {first.right_action}." if first.right_action else ""
    compared = (
        f" {count(alike, 'other mistake is', 'other mistakes are')} perhaps as common."
        if alike
        else ""
    )
    return Finding(
        "mistake",
        f"The most common mistake is in {_step(first.station)}: {text}.",
        f"{first.operators} of {count(round(first.share.n), 'operator')} made it at least once, "
        f"95 % interval {span(first.share.low, first.share.high)}.{compared}{right}",
    )


def _those(steps: list[str]) -> str:
    return f"{'that' if len(steps) == 1 else 'those'} of {listed(steps)}"


def _step(station: Station) -> str:
    return STATION_WORK[station]


def _n(share: BetweenShare) -> str:
    return f"{count(share.operators, 'operator')}, {count(share.sittings, 'sitting')}"
