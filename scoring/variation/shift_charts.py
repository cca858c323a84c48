"""Where a small lasting shift of measured values shows: the paths of CUSUM and EWMA.

How long each runs before it signals is settled in :mod:`scoring.variation.cusum`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import TooLittleEvidence
from scoring.variation.cusum import cusum_arl, ewma_arl
from scoring.variation.event_counts import Floats, label_names, numbers
from scoring.variation.run_rules import ROUNDING, check_finite


@dataclass(frozen=True, slots=True)
class ShiftChart:
    """A CUSUM or EWMA of measured values.

    Attributes
    ----------
    labels : tuple of str
        Points in order.
    upper, lower : tuple of float
        CUSUM: both sums, from 0, in the unit of the values. EWMA: the statistic, twice.
    limits : tuple of (float, float)
        Limits of `lower` and `upper` at each point: a signal above the second, or (CUSUM: of
        `lower` too; EWMA: below the first).
    signals : tuple of str
        Points with a signal.
    since : tuple of str
        For each signal, the point from which on the sum has been above 0 (CUSUM), which is
        where the shift probably began; for the EWMA the point itself.
    arl0 : float
        Average run length without a shift.
    arl1 : float
        The same with a shift of ``2 k`` standard deviations (CUSUM) or of 1 (EWMA).
    n : int
        Number of points.
    """

    labels: tuple[str, ...]
    upper: tuple[float, ...]
    lower: tuple[float, ...]
    limits: tuple[tuple[float, float], ...]
    signals: tuple[str, ...]
    since: tuple[str, ...]
    arl0: float
    arl1: float
    n: int


def cusum(
    values: ArrayLike,
    target: float,
    sd: float,
    *,
    k: float = 0.5,
    h: float = 5.0,
    head_start: float = 0.0,
    labels: Sequence[Any] | None = None,
) -> ShiftChart | TooLittleEvidence:
    """Return the two-sided tabular CUSUM of measured values.

    Parameters
    ----------
    values : array_like
        In order of time, none missing.
    target, sd : float
        Mean and standard deviation without a shift, in the unit of the values.
    k, h, head_start : float
        As in :func:`cusum_arl`, in standard deviations.
    labels : sequence, optional
        Names, each once; else 1, 2, ….

    Returns
    -------
    ShiftChart or TooLittleEvidence
        ``points``: there is none.

    Raises
    ------
    DataError
        A value is no finite number.
    ValueError
        A setting is outside its range.

    Notes
    -----
    ``C+ = max(0, x - (target + K) + C+)``, ``C- = max(0, (target - K) - x + C-)``, a signal
    above ``H``; the sums go on after it. Montgomery DC, Introduction to Statistical Quality
    Control, chapter 9 (from memory).
    """
    row, names = _row(values, target, sd, labels)
    arl0 = cusum_arl(h, k, head_start=head_start)
    arl1 = cusum_arl(h, k, 2 * k, head_start=head_start)
    if not len(row):
        return TooLittleEvidence("points", "There is no value yet.", 0)
    sums = np.zeros((2, len(row)))
    before, began = np.full(2, head_start * sd), [0, 0]
    signals, since = [], []
    for at, value in enumerate(row):
        steps = np.array([value - target, target - value]) - k * sd
        for side in (0, 1):
            if before[side] <= 0:
                began[side] = at
        before = np.maximum(0.0, before + steps)
        sums[:, at] = before
        over = [side for side in (0, 1) if before[side] > h * sd * (1 + ROUNDING)]
        if over:
            signals.append(names[at])
            since.append(names[min(began[side] for side in over)])
    upper, lower = (tuple(float(x) for x in side) for side in sums)
    limits = ((h * sd, h * sd),) * len(row)
    return ShiftChart(
        names, upper, lower, limits, tuple(signals), tuple(since), arl0, arl1, len(row)
    )


def ewma(
    values: ArrayLike,
    target: float,
    sd: float,
    *,
    weight: float = 0.1,
    limit: float = 2.814,
    constant_limits: bool = False,
    labels: Sequence[Any] | None = None,
) -> ShiftChart | TooLittleEvidence:
    """Return the EWMA of measured values with its limits.

    Parameters
    ----------
    values, target, sd, labels
        As in :func:`cusum`.
    weight : float
        Weight (lambda) of the newest value, above 0 to 1.
    limit : float
        Width ``L`` of the limits in standard errors. 2.814 runs 500 points on average without a
        shift (Lucas and Saccucci 1990, from memory).
    constant_limits : bool
        Limits of the long run from the start, which is what `arl0` and `arl1` are for; else they
        widen with ``1 - (1 - weight)**(2 i)``, and early points signal a little sooner.

    Returns
    -------
    ShiftChart or TooLittleEvidence
        ``points``: there is none.

    Raises
    ------
    DataError, ValueError
        As :func:`cusum`.
    """
    row, names = _row(values, target, sd, labels)
    arl0, arl1 = ewma_arl(limit, weight), ewma_arl(limit, weight, 1.0)
    if not len(row):
        return TooLittleEvidence("points", "There is no value yet.", 0)
    path, now = [], target
    for value in row:
        now = weight * float(value) + (1.0 - weight) * now
        path.append(now)
    share = weight / (2.0 - weight)
    age = np.full(len(row), np.inf) if constant_limits else np.arange(1.0, len(row) + 1)
    half = limit * sd * np.sqrt(share * (1.0 - (1.0 - weight) ** (2.0 * age)))
    out = np.abs(np.array(path) - target) > half * (1 + ROUNDING)
    signals = tuple(names[at] for at in np.flatnonzero(out))
    limits = tuple((target - float(each), target + float(each)) for each in half)
    return ShiftChart(
        names, tuple(path), tuple(path), limits, signals, signals, arl0, arl1, len(row)
    )


def _row(
    values: ArrayLike, target: float, sd: float, labels: Sequence[Any] | None
) -> tuple[Floats, tuple[str, ...]]:
    if not (math.isfinite(target) and 0 < sd < math.inf):
        raise ValueError(f"target {target!r}, sd {sd!r}: wanted finite, sd above 0")
    row = numbers(values, "values")
    check_finite(row)
    return row, label_names(labels, len(row))
