"""How well a measurement repeats, and how far appraisers differ: the gauge study."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence, check_confidence
from scoring.values_given import numbers_given
from scoring.variation.balanced import TwoWayTable, two_way_crossed
from scoring.variation.chart_constants import chart_constants
from scoring.variation.mean_square_intervals import mean_square_limits
from scoring.variation.mixed_likelihood import Numbers

POOLING = 0.25
"""Interaction with a larger p is pooled into repeatability (AIAG, Measurement Systems
Analysis, 4th ed., 2010; from memory)."""
CATEGORIES = 1.41
"""Factor of the number of distinct categories, root of 2 as that manual rounds it."""


@dataclass(frozen=True)
class Gauge:
    """A gauge study.

    Attributes
    ----------
    repeatability, reproducibility, gauge, part, total : float
        Standard deviations, the outcome's unit. Reproducibility holds the interaction.
    contribution, study : dict of str to float
        Percent of the total variance, and of the total standard deviation, by those names;
        the latter do not add up to 100.
    categories : int
        Number of distinct categories, ``1.41 part / gauge`` cut to a whole number; at
        least 1.
    table : TwoWayTable or None
        Table of variance with rows as parts; None for the method of ranges.
    pooled : bool
        Whether the interaction was pooled into repeatability.
    intervals : dict of str to Estimate
        The standard deviations with modified large sample intervals (see
        `mean_square_limits`), given the pooling; empty for the method of ranges. Few appraisers
        make a very wide one for reproducibility and the gauge. n: parts for ``part`` and
        ``total``, appraisers for ``reproducibility`` and ``gauge``, values for the rest.
    """

    repeatability: float
    reproducibility: float
    gauge: float
    part: float
    total: float
    contribution: dict[str, float]
    study: dict[str, float]
    categories: int
    table: TwoWayTable | None
    pooled: bool
    intervals: dict[str, Estimate]


def gauge_anova(
    cells: ArrayLike, *, alpha: float = POOLING, confidence: float = CONFIDENCE
) -> Gauge | TooLittleEvidence:
    """Return the gauge study by analysis of variance.

    Parameters
    ----------
    cells : array_like, shape (parts, appraisers, trials)
        Measured values. Negative components are set to 0.
    alpha : float
        Pooling rule: the interaction is pooled when its p is larger; 1 never pools.
    confidence : float
        Confidence of the intervals.

    Raises
    ------
    DataError
        Another shape, or a missing or infinite value.
    """
    check_confidence(confidence)
    y = numbers_given(cells, "cells")
    table = two_way_crossed(y)
    if isinstance(table, TooLittleEvidence):
        return table
    parts, appraisers, trials = y.shape
    inner, error = table.interaction, table.within
    pooled = inner.p is not None and inner.p > alpha
    repeat, against = error.ms, inner.ms
    if pooled:
        repeat = against = (inner.ss + error.ss) / (inner.df + error.df)
    pair = 0.0 if pooled else max(0.0, (inner.ms - error.ms) / trials)
    between = max(0.0, (table.columns.ms - against) / (parts * trials)) + pair
    part = max(0.0, (table.rows.ms - against) / (appraisers * trials))
    error_df = inner.df + error.df if pooled else error.df
    lines = [(table.rows.ms, table.rows.df), (table.columns.ms, table.columns.df)]
    lines += [] if pooled else [(inner.ms, inner.df)]
    lines.append((repeat, error_df))
    ones, many = 1 / (parts * trials), 1 / (appraisers * trials)
    # Each standard deviation squared as a sum of the lines above.
    sums = {
        "repeatability": [0.0, 0.0, 0.0, 1.0],
        "reproducibility": [0.0, ones, (1 - 1 / parts) / trials, -1 / trials],
        "gauge": [0.0, ones, (1 - 1 / parts) / trials, 1 - 1 / trials],
        "part": [many, 0.0, -many, 0.0],
        "total": [many, ones, (1 - 1 / parts - 1 / appraisers) / trials, 1 - 1 / trials],
    }
    if pooled:
        sums = {
            "repeatability": [0.0, 0.0, 1.0],
            "reproducibility": [0.0, ones, -ones],
            "gauge": [0.0, ones, 1 - ones],
            "part": [many, 0.0, -many],
            "total": [many, ones, 1 - ones - many],
        }
    found = _gauge(repeat, between, part, table, pooled)
    units = {"part": parts, "total": parts, "reproducibility": appraisers, "gauge": appraisers}
    for name, weights in sums.items():
        squares, dfs = [ms for ms, _ in lines], [df for _, df in lines]
        low, high = mean_square_limits(weights, squares, dfs, confidence)
        value = float(getattr(found, name))
        ends = min(value, math.sqrt(max(0.0, low))), max(value, math.sqrt(max(0.0, high)))
        n = units.get(name, parts * appraisers * trials)
        found.intervals[name] = Estimate(value, *ends, n, confidence)
    return found


def gauge_ranges(cells: ArrayLike) -> Gauge | TooLittleEvidence:
    """Return the gauge study by averages and ranges.

    ``K1 = 1/d2`` of the trials (many ranges), ``K2`` and ``K3 = 1/d2*`` of one range of the
    appraisers and of the parts, ``d2*^2 = d2^2 + d3^2`` (AIAG MSA 4th ed.; from memory), not
    rounded.

    Parameters
    ----------
    cells : array_like, shape (parts, appraisers, trials)
        Measured values.

    Raises
    ------
    DataError
        Another shape, or a missing or infinite value.
    """
    y = numbers_given(cells, "cells")
    checked = two_way_crossed(y)
    if isinstance(checked, TooLittleEvidence):
        return checked
    parts, _, trials = y.shape
    repeat = float(np.ptp(y, axis=2).mean()) / chart_constants(trials).d2
    apart = _one_range(y.mean(axis=(0, 2)))
    between = max(0.0, apart**2 - repeat**2 / (parts * trials))
    return _gauge(repeat**2, between, _one_range(y.mean(axis=(1, 2))) ** 2, None, False)


def _one_range(means: Numbers) -> float:
    """Return the standard deviation that one range suggests."""
    known = chart_constants(len(means))
    return float(np.ptp(means)) / math.hypot(known.d2, known.d3)


def _gauge(
    repeat: float, between: float, part: float, table: TwoWayTable | None, pooled: bool
) -> Gauge:
    """Return the study from its variances."""
    variances = {
        "repeatability": repeat,
        "reproducibility": between,
        "gauge": repeat + between,
        "part": part,
        "total": repeat + between + part,
    }
    sds = {name: math.sqrt(value) for name, value in variances.items()}
    return Gauge(
        **sds,
        contribution={name: 100 * v / variances["total"] for name, v in variances.items()},
        study={name: 100 * v / sds["total"] for name, v in sds.items()},
        categories=max(1, int(CATEGORIES * sds["part"] / sds["gauge"])),
        table=table,
        pooled=pooled,
        intervals={},
    )
