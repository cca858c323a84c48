"""Whether measured values over time are steady: individuals, mean, range and spread charts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.values_given import numbers_given
from scoring.variation.chart import (
    FIRM_POINTS,
    LEAST_POINTS,
    ChartPoint,
    ControlChart,
    at_width,
    baseline_of,
    chart_signals,
)
from scoring.variation.chart_constants import chart_constants
from scoring.variation.event_counts import Floats, event_counts, numbers
from scoring.variation.rule_run_length import run_rule_arl
from scoring.variation.run_rules import Rule, rule_set

Measured = Literal["mean", "range", "sd"]
Spread = Literal["range", "sd"]


def individuals_chart(
    values: ArrayLike,
    *,
    labels: Sequence[Any] | None = None,
    times: Sequence[Any] | None = None,
    sort: bool = False,
    target: float | None = None,
    sd: float | None = None,
    baseline: int | Sequence[Any] | None = None,
    exclude: Sequence[Any] = (),
    sigmas: float = 3.0,
    rules: str | Sequence[Rule] = "western-electric",
    on_limit: bool = False,
) -> ControlChart | TooLittleEvidence:
    """Chart single measured values over time (X chart, XmR).

    Parameters
    ----------
    values : array_like
        One value a point; NaN where missing.
    labels, times, sort, baseline, exclude, sigmas, rules, on_limit
        As in :func:`scoring.variation.control_charts.control_chart`.
    target : float, optional
        Centre line; else the mean of the baseline.
    sd : float, optional
        Standard deviation; else the mean moving range of neighbouring baseline points / 1.128.

    Returns
    -------
    ControlChart or TooLittleEvidence
        ``points``: a baseline of fewer than `LEAST_POINTS`, unless `target` and `sd` are
        given. ``difference``: neighbouring values do not differ.

    Raises
    ------
    DataError
        A value is infinite, or names or times are unusable.
    ValueError
        A setting is outside its range.
    """
    found = numbers(values, "values")
    infinite = np.flatnonzero(np.isinf(found))
    for row in infinite[:1]:
        raise DataError(f"value in row {int(row) + 1}", float(found[row]), "a finite number")
    # The names and times are read as for counts: here the counts are the row numbers.
    rows = np.where(np.isnan(found), np.nan, np.arange(len(found)))
    held = event_counts(rows, 1.0, labels, times=times, sort=sort, out_of=False)
    row = found[held.events.astype(int)]
    base = baseline_of(held.labels, baseline, exclude)
    missing = _too_few(base, target is None or sd is None)
    if missing is not None:
        return missing
    centre = float(row[base].mean()) if target is None else target
    if sd is None:
        sd = float(np.mean(np.abs(np.diff(row[base])))) / chart_constants(2).d2
    if not sd > 0:
        said = "Neighbouring values do not differ, so there is no scatter to compare with."
        return TooLittleEvidence("difference", said, int(base.sum()))
    half = np.full(len(row), sigmas * sd)
    return _chart(
        "individuals", row, np.ones(len(row)), centre, centre - half, centre + half,
        (row - centre) / sd, base, target is None or sd is None, sigmas, rules, on_limit,
        held.labels, held.times, held.left_out,
    )  # fmt: skip


def subgroup_chart(
    subgroups: ArrayLike,
    plot: Measured = "mean",
    spread: Spread = "range",
    *,
    labels: Sequence[Any] | None = None,
    times: Sequence[Any] | None = None,
    sort: bool = False,
    target: float | None = None,
    sigma: float | None = None,
    baseline: int | Sequence[Any] | None = None,
    exclude: Sequence[Any] = (),
    sigmas: float = 3.0,
    rules: str | Sequence[Rule] = "western-electric",
    on_limit: bool = False,
) -> ControlChart | TooLittleEvidence:
    """Chart subgroups of measured values over time: Xbar, R or S.

    Parameters
    ----------
    subgroups : array_like, shape (points, values)
        A row of equally many values for each point, none missing.
    plot : {'mean', 'range', 'sd'}
        What to chart.
    spread : {'range', 'sd'}
        What sigma is estimated from: mean range / d2 (Xbar-R, the default) or mean
        standard deviation (`ddof` 1) / c4 (Xbar-S).
    labels, times, sort, baseline, exclude, sigmas, rules, on_limit
        As in :func:`scoring.variation.control_charts.control_chart`.
    target : float, optional
        Centre line of the means; else their mean over the baseline.
    sigma : float, optional
        Standard deviation of single values, where it is known.

    Returns
    -------
    ControlChart or TooLittleEvidence
        As :func:`individuals_chart`. Limits of range and spread are cut at 0.

    Raises
    ------
    DataError
        A value is no finite number, or names or times are unusable.
    ValueError
        A setting is outside its range, or subgroups of fewer than 2 values.

    Notes
    -----
    Montgomery DC, Introduction to Statistical Quality Control, chapter 6 (from memory):
    with ``sigmas`` 3 the limits are the mean +- A2 times the mean range (or A3 times the mean
    standard deviation), D3 and D4 times the mean range, B3 and B4 times the mean deviation.
    """
    table = numbers_given(subgroups, "subgroups", "rows of equally many numbers")
    if table.ndim != 2 or table.shape[1] < 2:
        raise ValueError("subgroups: wanted a table with a row of 2 or more values a point")
    if plot not in ("mean", "range", "sd") or spread not in ("range", "sd"):
        raise ValueError(f"plot {plot!r}, spread {spread!r}: wanted mean, range or sd")
    for at, values in enumerate(table):
        if not np.isfinite(values).all():
            raise DataError(f"subgroup in row {at + 1}", values.tolist(), "finite numbers")
    held = event_counts(np.arange(len(table)), 1.0, labels, times=times, sort=sort, out_of=False)
    table = table[held.events.astype(int)]
    size = table.shape[1]
    constants = chart_constants(size)
    base = baseline_of(held.labels, baseline, exclude)
    missing = _too_few(base, sigma is None or (target is None and plot == "mean"))
    if missing is not None:
        return missing
    ranges, deviations = np.ptp(table, axis=1), table.std(axis=1, ddof=1)
    estimated = sigma is None
    if sigma is None:
        if spread == "range":
            sigma = float(ranges[base].mean()) / constants.d2
        else:
            sigma = float(deviations[base].mean()) / constants.c4
    if not sigma > 0:
        said = "The values within each subgroup are all the same."
        return TooLittleEvidence("difference", said, int(base.sum()))
    if plot == "mean":
        value = table.mean(axis=1)
        centre = float(value[base].mean()) if target is None else target
        error, floor = sigma / math.sqrt(size), -math.inf
    elif plot == "range":
        value, centre, error, floor = ranges, constants.d2 * sigma, constants.d3 * sigma, 0.0
    else:
        value, centre = deviations, constants.c4 * sigma
        error, floor = math.sqrt(1 - constants.c4**2) * sigma, 0.0
    low = np.full(len(value), max(floor, centre - sigmas * error))
    high = np.full(len(value), centre + sigmas * error)
    return _chart(
        plot, value, np.full(len(value), float(size)), centre, low, high,
        (value - centre) / error, base, estimated, sigmas, rules, on_limit,
        held.labels, held.times, held.left_out,
    )  # fmt: skip


def _too_few(base: NDArray[np.bool_], estimated: bool) -> TooLittleEvidence | None:
    size = int(base.sum())
    if size >= LEAST_POINTS or (not estimated and len(base)):
        return None
    said = f"Only {counted(size, 'point')} to set limits from; at least"
    needed = LEAST_POINTS if estimated else 1
    return TooLittleEvidence("points", f"{said} {needed} are needed.", size)


def _chart(
    form: str,
    value: Floats,
    n: Floats,
    centre: float,
    low: Floats,
    high: Floats,
    z: Floats,
    base: NDArray[np.bool_],
    estimated: bool,
    sigmas: float,
    rules: str | Sequence[Rule],
    on_limit: bool,
    labels: tuple[str, ...],
    times: Any,
    left_out: tuple[str, ...],
) -> ControlChart:
    if not 0 < sigmas < 10:
        raise ValueError(f"sigmas {sigmas!r}: wanted a number above 0 and below 10")
    chosen = rule_set(rules)
    when = times or (None,) * len(value)
    return ControlChart(
        form=form,
        centre=centre,
        points=tuple(
            ChartPoint(
                labels[at], when[at], float(value[at]), float(n[at]), centre, float(low[at]),
                float(high[at]), float(z[at]), bool(base[at]),
            )
            for at in range(len(value))
        ),
        signals=chart_signals(z, z, chosen, labels, sigmas, on_limit),
        sigma_z=1.0,
        baseline_points=int(base.sum()),
        provisional=estimated and int(base.sum()) < FIRM_POINTS,
        rules=chosen,
        false_alarm_every=run_rule_arl(at_width(chosen, sigmas)),
        false_alarm_share=None,
        left_out=left_out,
    )  # fmt: skip
