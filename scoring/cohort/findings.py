"""The findings of a cohort as plain sentences, computed from its tables.

Steps first and never a ranking of people. Each sentence carries its interval
and n, and says what the data cannot tell.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence

from scoring.cohort.frequent import FrequentMistake
from scoring.cohort.outcome import StationOutcome
from scoring.cohort.saying import STATION_WORK, count, listed, percent, span, with_span
from scoring.cohort.section import Finding
from scoring.model import Station
from scoring.variation.between import BetweenShare
from scoring.variation.operator_means import OperatorMean


def findings(
    outcomes: Sequence[StationOutcome],
    mistakes: Mapping[Station, Sequence[FrequentMistake]],
) -> tuple[Finding, ...]:
    """Return the headline findings, the most useful first.

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
    found = (_who(outcomes), _result(outcomes), _critical(outcomes), _mistake(mistakes),
             _people(outcomes))  # fmt: skip
    return tuple(finding for finding in found if finding is not None)


def by_share(outcomes: Sequence[StationOutcome]) -> list[tuple[Station, BetweenShare]]:
    """Return the stations that have a between-operator figure, the largest first."""
    known = [
        (outcome.station, outcome.between)
        for outcome in outcomes
        if isinstance(outcome.between, BetweenShare)
    ]
    return sorted(known, key=lambda pair: -pair[1].share)


def _who(outcomes: Sequence[StationOutcome]) -> Finding:
    known = by_share(outcomes)
    if not known:
        reasons = {
            f"{_step(outcome.station)}: {outcome.between.said}"
            for outcome in outcomes
            if not isinstance(outcome.between, BetweenShare)
        }
        return Finding(
            "who",
            "Too little evidence to say how much depends on who does the work.",
            " ".join(sorted(reasons)),
        )
    (station, top), rest = known[0], known[1:]
    if top.low == 0.0:
        return Finding(
            "who",
            "At no step do the data show that the result depends on who does the work.",
            f"The largest share is in {_step(station)}: {with_span(top.share, top.low, top.high)} "
            f"of the differences in score lie between operators ({_n(top)}). That interval "
            f"reaches down to 0, so the data cannot tell it from none.",
        )
    alike = [_step(other) for other, share in rest if share.high >= top.low]
    apart = [_step(other) for other, share in rest if share.high < top.low]
    if not rest:
        compared = "There is no other step to compare it with."
    elif not alike:
        compared = f"That is more than in {listed(apart)}; the intervals do not overlap."
    else:
        compared = (
            f"The interval overlaps with {_those(alike)}, so the data cannot tell for sure "
            "at which of these steps people differ most."
        )
        if apart:
            compared += f" It is more than in {listed(apart)}."
    return Finding(
        "who",
        f"In {_step(station)} the result depends most on who does the work: "
        f"{percent(top.share)} of the differences in score lie between operators.",
        f"The true share is most likely {span(top.low, top.high)} (95 % interval; {_n(top)}). "
        f"{compared}",
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


def _critical(outcomes: Sequence[StationOutcome]) -> Finding | None:
    known = [outcome for outcome in outcomes if outcome.critical is not None]
    worst = max(known, key=lambda o: o.critical.estimate if o.critical else 0.0)
    if worst.critical is None:
        return None
    n = f"{worst.critical_operators} of {count(round(worst.critical.n), 'operator')}"
    interval = span(worst.critical.low, worst.critical.high)
    if worst.critical_operators == 0:
        return Finding(
            "critical",
            "Nobody gave an unsafe answer to a critical decision.",
            f"In {_step(worst.station)} that is {n}. It does not prove that there is no risk: "
            f"the 95 % interval is {interval}.",
        )
    return Finding(
        "critical",
        f"Unsafe answers to critical decisions are most common in {_step(worst.station)}: {n} "
        "gave one at least once.",
        f"That is {percent(worst.critical.estimate)}, 95 % interval {interval}.",
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


def _people(outcomes: Sequence[StationOutcome]) -> Finding:
    everyone = {person.operator for outcome in outcomes for person in outcome.people}
    thin = {
        person.operator for outcome in outcomes for person in outcome.people if not person.enough
    }
    pairs = sum(len(outcome.people) * (len(outcome.people) - 1) // 2 for outcome in outcomes)
    apart = sum(_pairs_apart(outcome.people) for outcome in outcomes)
    said = (
        f"For {count(len(thin), 'operator')} of {len(everyone)} there is too little evidence at "
        "one step or more; do not judge a person by that."
        if thin
        else f"All {count(len(everyone), 'operator')} have enough sittings for an interval."
    )
    if pairs == 0:
        return Finding("people", "Nobody can be compared yet.", said)
    return Finding(
        "people",
        f"For {percent(1 - apart / pairs)} of all pairs of operators the data cannot safely say "
        "who did better.",
        f"Their intervals overlap, or one of them has none ({count(pairs, 'pair')}, all steps "
        f"together). {said}",
    )


def _pairs_apart(people: Sequence[OperatorMean]) -> int:
    """Count the pairs whose intervals do not overlap."""
    known = [
        (person.low, person.high)
        for person in people
        if person.enough and person.low is not None and person.high is not None
    ]
    lows = sorted(low for low, _ in known)
    return sum(len(lows) - bisect_right(lows, high) for _, high in known)


def _those(steps: list[str]) -> str:
    return f"{'that' if len(steps) == 1 else 'those'} of {listed(steps)}"


def _step(station: Station) -> str:
    return STATION_WORK[station]


def _n(share: BetweenShare) -> str:
    return f"{count(share.operators, 'operator')}, {count(share.sittings, 'sitting')}"
