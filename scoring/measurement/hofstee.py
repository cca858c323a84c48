"""A cut as a compromise between the score that judges want and the fail rate that they bear."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import Floats, numbers
from scoring.measurement.reliability import SAMPLES
from scoring.values_given import numbers_given

LEAST_PERSONS = 2


@dataclass(frozen=True, slots=True)
class HofsteeCut:
    """Where the judges' line meets the curve of fail rates.

    Attributes
    ----------
    cut : Estimate or TooLittleEvidence
        ``line above the curve`` or ``line below the curve`` where they do not meet.
    nearest : float or None
        The cut; where they do not meet, the end of the judges' range that lies nearest to
        doing so: the highest cut where the line lies above, the lowest where it lies below.
    fail_rate : float or None
        Share of persons below `nearest`.
    line_at_cut : float or None
        Fail rate that the line has at the cut.
    cut_range, fail_range : tuple of float
        Least and greatest cut and fail rate, over the judges.
    n : int
        Persons.
    """

    cut: Estimate | TooLittleEvidence
    nearest: float | None
    fail_rate: float | None
    line_at_cut: float | None
    cut_range: tuple[float, float]
    fail_range: tuple[float, float]
    n: int


def hofstee(
    scores: ArrayLike,
    cut_min: ArrayLike,
    cut_max: ArrayLike,
    fail_min: ArrayLike,
    fail_max: ArrayLike,
    *,
    average: Literal["mean", "median"] = "mean",
    curve: Literal["steps", "line"] = "steps",
    confidence: float = CONFIDENCE,
    samples: int = SAMPLES,
    seed: int | np.random.Generator = 0,
) -> HofsteeCut:
    """Return the cut of Hofstee's method.

    Parameters
    ----------
    scores : array-like, shape (persons,)
        Missing scores are left out.
    cut_min, cut_max : float or array-like, shape (judges,)
        Lowest and highest acceptable cut, in the unit of the scores.
    fail_min, fail_max : float or array-like, shape (judges,)
        Lowest and highest acceptable share that fails, from 0 to 1.
    average : {"mean", "median"}
        Over the judges.
    curve : {"steps", "line"}
        The share below a cut, ``P(X < cut)``: as it is (the cut is then the least score at which
        the share reaches the line), or with straight lines between neighbouring scores.
    confidence : float
        Between 0 and 1.
    samples, seed
        Bootstrap over persons, and over judges where there are several. Ends are those of the
        samples in which line and curve meet, and None where that is less than half.

    Raises
    ------
    DataError
        Ends in the wrong order, rates outside 0 to 1, judges' lists of different length.

    Notes
    -----
    The line runs from (cut_min, fail_max) to (cut_max, fail_min). Hofstee WKB (1983),
    in Anderson and Helmick, On Educational Testing, from memory.
    """
    check_confidence(confidence)
    if average not in ("mean", "median") or curve not in ("steps", "line"):
        raise ValueError(f"average {average!r}, curve {curve!r}: unknown")
    given = numbers(scores, "score", missing=True)
    given = given[~np.isnan(given)]
    named = {"cut_min": cut_min, "cut_max": cut_max, "fail_min": fail_min, "fail_max": fail_max}
    lists = [
        numbers(np.atleast_1d(numbers_given(value, name)), name) for name, value in named.items()
    ]
    sizes = {len(values) for values in lists}
    if len(sizes) != 1 or 0 in sizes:
        raise DataError("judges", sorted(sizes), "the same number in all four lists")
    judges = np.column_stack(lists)
    for name, at in (("cut", 0), ("fail", 2)):
        wrong = np.flatnonzero(judges[:, at] > judges[:, at + 1])
        if wrong.size:
            found = tuple(float(value) for value in judges[wrong[0], at : at + 2])
            raise DataError(f"{name}_min, judge {wrong[0] + 1}", found, "at most the greatest")
    if (judges[:, 2:] < 0).any() or (judges[:, 2:] > 1).any():
        raise DataError("fail rates", judges[:, 2:].tolist(), "shares from 0 to 1")
    middle = np.mean if average == "mean" else np.median
    box = np.asarray(middle(judges, axis=0), dtype=np.float64)
    ranges = (float(box[0]), float(box[1])), (float(box[2]), float(box[3]))
    n = len(given)
    if n < LEAST_PERSONS:
        lack = TooLittleEvidence(
            "persons", f"Only {counted(n, 'person', 'people')}; at least 2 are needed.", n
        )
        return HofsteeCut(lack, None, None, None, *ranges, n)
    ordered = np.sort(given)
    cut, miss = _meet(ordered, box, curve)
    rate = float((ordered < cut).mean())
    if miss:
        ends = (
            (f"Even the highest cut, {box[1]:g}, fails fewer", "least")
            if miss == "line above the curve"
            else (f"Even the lowest cut, {box[0]:g}, fails more", "most")
        )
        said = f"{ends[0]} people than the {ends[1]} that the judges accept."
        return HofsteeCut(TooLittleEvidence(miss, said, n), cut, rate, None, *ranges, n)
    random = np.random.default_rng(seed)
    drawn = []
    for _ in range(samples):
        people = np.sort(ordered[random.integers(0, n, n)])
        panel = judges[random.integers(0, len(judges), len(judges))]
        other, missed = _meet(people, np.asarray(middle(panel, axis=0)), curve)
        if not missed:
            drawn.append(other)
    low = high = None
    if samples and len(drawn) >= samples / 2:
        tail = (1 - confidence) / 2
        ends_of = np.quantile(drawn, (tail, 1 - tail))
        low, high = min(float(ends_of[0]), cut), max(float(ends_of[1]), cut)
    return HofsteeCut(
        Estimate(cut, low, high, n, confidence), cut, rate, _line(cut, box), *ranges, n
    )


def _line(cut: float, box: Floats) -> float:
    if box[1] == box[0]:
        return float(box[3])
    return float(box[3] + (box[2] - box[3]) * (cut - box[0]) / (box[1] - box[0]))


def _meet(ordered: Floats, box: Floats, curve: str) -> tuple[float, str]:
    """Return the cut (or the end of the range nearest to one) and how the line misses."""
    lowest, highest, least, most = (float(value) for value in box)
    n = len(ordered)
    if curve == "line":
        values, first = np.unique(ordered, return_index=True)
        # One step beyond the best score, everybody fails.
        beyond = float(np.nextafter(values[-1], np.inf))
        at = np.concatenate((values, [beyond]))
        shares = np.concatenate((first / n, [1.0]))

        def share(cut: float) -> float:
            return float(np.interp(cut, at, shares))

        inside = at[(at > lowest) & (at < highest)]
        points = np.concatenate(([lowest], inside, [highest]))
        gaps = [share(point) - _line(point, box) for point in points]
    else:
        inside = np.unique(ordered[(ordered >= lowest) & (ordered < highest)])
        points = np.concatenate(([lowest], inside, [highest]))
        gaps = [float((ordered < lowest).mean()) - most]
        gaps += [
            float(np.searchsorted(ordered, point, side="right")) / n - _line(point, box)
            for point in inside
        ]
        gaps.append(float((ordered < highest).mean()) - least)
    if gaps[0] > 1e-12:
        return lowest, "line below the curve"
    if gaps[-1] < -1e-12:
        return highest, "line above the curve"
    reached = next(place for place, gap in enumerate(gaps) if gap >= -1e-12)
    if reached == 0:
        return lowest, ""
    left, right = float(points[reached - 1]), float(points[reached])
    if curve == "line":
        span = gaps[reached] - gaps[reached - 1]
        return left + (right - left) * -gaps[reached - 1] / span, ""
    # Between scores the share stands still while the line falls: they may meet there.
    level = float((ordered < right).mean())
    if _line(right, box) <= level + 1e-12 and box[3] > box[2]:
        meeting = lowest + (most - level) * (highest - lowest) / (most - least)
        return min(max(meeting, left), right), ""
    return right, ""
