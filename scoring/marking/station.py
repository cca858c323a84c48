"""From the marks of one station to its result."""

from __future__ import annotations

from collections.abc import Sequence

from scoring.marking.interval import effective_number, standard_error, wilson
from scoring.marking.marks import DecisionMark, StationResult, Verdict
from scoring.model import Station


def station_result(station: Station, marks: Sequence[DecisionMark], cut: float) -> StationResult:
    """Return what these marks, all of one station, show.

    Parameters
    ----------
    station : Station
    marks : sequence of DecisionMark
        Every decision of the station, answered or not.
    cut : float
        The share that passes, above 0 and below 1.

    Notes
    -----
    An unanswered decision adds to the maximum and not to the points. The
    interval and the standard error rest on the answered decisions alone, so
    that little evidence is never made to look like more.
    """
    maximum = points = 0.0
    weights = []
    failed = []
    critical_open = False
    for mark in marks:
        maximum += mark.maximum
        if mark.assessed:
            points += mark.credit * mark.maximum
            weights.append(mark.maximum)
            if mark.critical and mark.unsafe:
                failed.append(f"{mark.scenario}/{mark.decision}")
        elif mark.critical:
            critical_open = True
    # Sums of the same weights in another order may differ in the last digit.
    share = min(1.0, points / maximum) if maximum else 0.0
    number = effective_number(weights)
    low, high = wilson(share, number)
    return StationResult(
        station=station,
        verdict=verdict(share, number, cut, unsafe=bool(failed), critical_open=critical_open),
        points=points,
        maximum=maximum,
        share=share,
        low=low,
        high=high,
        decisions=len(weights),
        unanswered=len(marks) - len(weights),
        failed_critical=tuple(failed),
    )


def verdict(
    share: float, number: float, cut: float, *, unsafe: bool, critical_open: bool
) -> Verdict:
    """Return the word for a station.

    Parameters
    ----------
    share : float
        Points over maximum.
    number : float
        Effective number of answered decisions.
    cut : float
        The share that passes.
    unsafe : bool
        A critical decision was answered unsafely: not yet, whatever the total.
    critical_open : bool
        A critical decision has no answer: never competent, since no answer is
        never a pass; called not yet.

    Returns
    -------
    str
        "borderline" when the share lies within one standard error of
        measurement of the cut, on either side: too little evidence to tell.
    """
    if number == 0:
        return "not assessed"
    if unsafe or critical_open:
        return "not yet"
    if abs(share - cut) <= standard_error(share, number):
        return "borderline"
    return "competent" if share > cut else "not yet"
