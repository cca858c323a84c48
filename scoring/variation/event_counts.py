"""Which counts may be charted: whole, at most what they are out of, each name once, in order.

Funnel and control charts read their input here, so that the same fault is told
in the same words by all of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError
from scoring.values_given import numbers_given

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EventCounts:
    """Counts that may be charted.

    Attributes
    ----------
    labels : tuple of str
        One name a point.
    events, n : ndarray of float
        Whole counts, and what each is out of (trials, or units of exposure), all above 0.
    times : tuple of date or datetime, or None
        When, rising.
    left_out : tuple of str
        Names of points without a count or with nothing to count from.
    """

    labels: tuple[str, ...]
    events: Floats
    n: Floats
    times: tuple[date, ...] | None
    left_out: tuple[str, ...]


def event_counts(
    events: ArrayLike,
    n: ArrayLike,
    labels: Sequence[Any] | None = None,
    *,
    times: Sequence[Any] | None = None,
    sort: bool = False,
    out_of: bool = True,
) -> EventCounts:
    """Check counts and return those that can be used.

    Parameters
    ----------
    events : array_like
        Whole numbers from 0; NaN where missing.
    n : array_like
        What each is out of, one for each or one for all; NaN or 0 where there was nothing.
    labels : sequence, optional
        Names, each once; else the times, else 1, 2, ….
    times : sequence of date or datetime, optional
        Must not fall, unless `sort`.
    sort : bool
        Put the points into the order of `times`.
    out_of : bool
        Whether `n` counts trials, so that no count may be above it.

    Raises
    ------
    DataError
        Lengths differ, a number is infinite, negative or not whole, a count is above
        its `n`, a name stands twice, or dates are out of order.
    """
    counted = numbers(events, "events")
    given = numbers(n, "n")
    given = np.full(len(counted), given[0]) if len(given) == 1 else given
    if len(counted) != len(given):
        raise DataError("n", len(given), f"as many values as events, {len(counted)}")
    order, kept_times = _in_order(times, len(counted), sort)
    names = label_names(labels, len(counted), times)
    for name, count, size in zip(names, counted, given, strict=True):
        _check(name, float(count), float(size), out_of)
    counted, given = counted[order], given[order]
    names = tuple(names[place] for place in order)
    usable = np.isfinite(counted) & (given > 0)
    return EventCounts(
        labels=tuple(name for name, used in zip(names, usable, strict=True) if used),
        events=counted[usable],
        n=given[usable],
        times=None
        if kept_times is None
        else tuple(when for when, used in zip(kept_times, usable, strict=True) if used),
        left_out=tuple(name for name, used in zip(names, usable, strict=True) if not used),
    )


def _check(name: str, count: float, size: float, out_of: bool) -> None:
    for what, value in (("count", count), ("n", size)):
        if math.isinf(value) or value < 0:
            raise DataError(f"{what} of {name}", value, "a finite number from 0")
    # A count that is missing or without anything to count from is left out, not refused.
    if math.isnan(count) or math.isnan(size):
        return
    if count != math.floor(count):
        raise DataError(f"count of {name}", count, "a whole number")
    if out_of and size != math.floor(size):
        raise DataError(f"n of {name}", size, "a whole number")
    if (out_of or size == 0) and count > size:
        raise DataError(f"count of {name}", count, f"at most its n, {size:g}")


def numbers(values: ArrayLike, item: str) -> Floats:
    """Return `values` as a row of floats; None becomes NaN.

    Raises
    ------
    DataError
        There is something that is no number, or the shape is not one row.
    """
    found = np.atleast_1d(numbers_given(values, item))
    if found.ndim != 1:
        raise DataError(item, f"{found.ndim} dimensions", "one row of numbers")
    return found


def label_names(
    labels: Sequence[Any] | None, size: int, times: Sequence[Any] | None = None
) -> tuple[str, ...]:
    """Return one name a point: as given, else the dates if each stands once, else 1, 2, ….

    Raises
    ------
    DataError
        There are more or fewer names than points, or a name stands twice.
    """
    if labels is None:
        dated = () if times is None else tuple(_written(_plain(when)) for when in times)
        unique = len(dated) == size and len(set(dated)) == size
        return dated if unique else tuple(str(place + 1) for place in range(size))
    names = tuple(_written(label) for label in labels)
    if len(names) != size:
        raise DataError("labels", len(names), f"one for each point, {size}")
    seen: set[str] = set()
    for place, name in enumerate(names):
        if name in seen:
            raise DataError(f"label in row {place + 1}", name, "each name once")
        seen.add(name)
    return names


def by_name(label: str) -> tuple[float, str]:
    """Return what to sort names by: numbers by size, then words by letter."""
    try:
        return float(label), label
    except ValueError:
        return math.inf, label


def _written(label: Any) -> str:
    return label.isoformat() if isinstance(label, date) else str(label)


def _plain(when: Any) -> Any:
    """Return numpy's dates as Python's; all else as it is."""
    if not isinstance(when, np.datetime64):
        return when
    days = np.datetime_data(when.dtype)[0] == "D"
    return when.item() if days else when.astype("datetime64[us]").item()


def _in_order(
    times: Sequence[Any] | None, size: int, sort: bool
) -> tuple[list[int], tuple[date, ...] | None]:
    if times is None:
        return list(range(size)), None
    listed = [_plain(when) for when in times]
    if len(listed) != size:
        raise DataError("times", len(listed), f"one for each point, {size}")
    for row, when in enumerate(listed):
        # pandas' "not a time" is a datetime that equals nothing, itself included.
        if not isinstance(when, date) or when != when:
            raise DataError(f"time in row {row + 1}", when, "a date or a date with its time")
        if isinstance(when, datetime) != isinstance(listed[0], datetime):
            raise DataError(f"time in row {row + 1}", when, "the same kind as in row 1")
        if isinstance(when, datetime) and (when.tzinfo is None) != (listed[0].tzinfo is None):
            raise DataError(f"time in row {row + 1}", when, "a time zone in all rows or in none")
    if sort:
        order = sorted(range(size), key=lambda row: listed[row])
        return order, tuple(listed[row] for row in order)
    for row in range(1, size):
        if listed[row] < listed[row - 1]:
            raise DataError(
                f"time in row {row + 1}",
                _written(listed[row]),
                f"not before row {row}, {_written(listed[row - 1])}",
            )
    return list(range(size)), tuple(listed)
