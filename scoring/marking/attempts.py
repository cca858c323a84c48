"""Which sitting of a form counts when somebody sat it more than once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Literal

from scoring.marking.marks import SittingMarks

Sat = tuple[datetime, SittingMarks]
"""When a sitting started, by its log's header, and its marks."""


def counting(sittings: Iterable[Sat], counts: Literal["first", "last", "best"]) -> dict[str, Sat]:
    """Return for each operator the sitting that counts.

    Parameters
    ----------
    sittings : iterable of (datetime, SittingMarks)
        Sittings of one form.
    counts : str
        The form's rule. Best means most stations competent, then most points;
        of equals the earlier one.

    Returns
    -------
    dict of str to (datetime, SittingMarks)
        By operator code. A sitting that was not handed in never counts; who has
        no other is not in the result and so is not assessed.
    """
    by_operator: dict[str, list[Sat]] = {}
    for sat in sittings:
        if sat[1].complete:
            by_operator.setdefault(sat[1].operator, []).append(sat)
    chosen = {}
    for operator, tries in sorted(by_operator.items()):
        # The id settles the order where a clock that was set back gives equal times.
        tries.sort(key=lambda sat: (sat[0], sat[1].sitting))
        if counts == "best":
            chosen[operator] = max(tries, key=lambda sat: _goodness(sat[1]))
        else:
            chosen[operator] = tries[0 if counts == "first" else -1]
    return chosen


def _goodness(marks: SittingMarks) -> tuple[int, float]:
    maximum = sum(station.maximum for station in marks.stations)
    points = sum(station.points for station in marks.stations)
    passed = sum(station.verdict == "competent" for station in marks.stations)
    return passed, points / maximum if maximum else 0.0
