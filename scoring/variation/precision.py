"""How well a measurement repeats: gauge study, repeatability and reproducibility."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtri  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.balanced import TwoWayTable, one_way, two_way_crossed
from scoring.variation.chart_constants import chart_constants
from scoring.variation.mixed_likelihood import Numbers

POOLING = 0.25
"""Interaction with a larger p is pooled into repeatability (AIAG, Measurement Systems
Analysis, 4th ed., 2010; from memory)."""
CATEGORIES = 1.41
"""Factor of the number of distinct categories, root of 2 as that manual rounds it."""
LIMIT = 2.8
"""Repeatability limit over its standard deviation, 1.96 times root 2 (ISO 5725-6; from
memory)."""


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


def gauge_anova(cells: ArrayLike, *, alpha: float = POOLING) -> Gauge | TooLittleEvidence:
    """Return the gauge study by analysis of variance.

    Parameters
    ----------
    cells : array_like, shape (parts, appraisers, trials)
        Measured values. Negative components are set to 0.
    alpha : float
        Pooling rule: the interaction is pooled when its p is larger.
    """
    table = two_way_crossed(cells)
    if isinstance(table, TooLittleEvidence):
        return table
    parts, appraisers, trials = np.shape(cells)
    inner, error = table.interaction, table.within
    pooled = inner.p is not None and inner.p > alpha
    repeat, against = error.ms, inner.ms
    if pooled:
        repeat = against = (inner.ss + error.ss) / (inner.df + error.df)
    pair = 0.0 if pooled else max(0.0, (inner.ms - error.ms) / trials)
    between = max(0.0, (table.columns.ms - against) / (parts * trials)) + pair
    part = max(0.0, (table.rows.ms - against) / (appraisers * trials))
    return _gauge(repeat, between, part, table, pooled)


def gauge_ranges(cells: ArrayLike) -> Gauge | TooLittleEvidence:
    """Return the gauge study by averages and ranges.

    ``K1 = 1/d2`` of the trials (many ranges), ``K2`` and ``K3 = 1/d2*`` of one range of the
    appraisers and of the parts, ``d2*^2 = d2^2 + d3^2`` (AIAG MSA 4th ed.; from memory), not
    rounded.

    Parameters
    ----------
    cells : array_like, shape (parts, appraisers, trials)
        Measured values.
    """
    checked = two_way_crossed(cells)
    if isinstance(checked, TooLittleEvidence):
        return checked
    y = np.asarray(cells, dtype=float)
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
    )


@dataclass(frozen=True)
class Precision:
    """Precision in the sense of ISO 5725-2.

    Attributes
    ----------
    repeatability_sd, reproducibility_sd : Estimate
        ``s_r`` with its exact chi-squared interval, ``s_R`` with Satterthwaite's
        (approximate; with 5 groups or fewer it covers less than promised). n: groups.
    between_sd : float
        ``s_L``; 0 where the variance came out negative.
    repeatability_limit, reproducibility_limit : float
        ``r = 2.8 s_r`` and ``R = 2.8 s_R``: two single values differ by less in 95 of 100.
    """

    repeatability_sd: Estimate
    reproducibility_sd: Estimate
    between_sd: float
    repeatability_limit: float
    reproducibility_limit: float


def precision(
    values: Sequence[float] | Numbers, groups: Sequence[Any], *, confidence: float = CONFIDENCE
) -> Precision | TooLittleEvidence:
    """Return repeatability and reproducibility of one level, equal or unequal cells.

    Parameters
    ----------
    values : sequence of float
        Measured values.
    groups : sequence
        Operator (laboratory) of each value.
    confidence : float
        Confidence of the intervals.
    """
    check_confidence(confidence)
    table = one_way(values, groups)
    if isinstance(table, TooLittleEvidence):
        return table
    k = table.between.df + 1
    inner, outer = table.within.ms, table.between.ms
    between = max(0.0, table.variance_between)
    whole = inner + between
    usual = (outer - inner) / table.variance_between if table.variance_between else table.n / k
    a, b = outer / usual, (1 - 1 / usual) * inner
    df = (
        (a + b) ** 2 / (a**2 / table.between.df + b**2 / table.within.df)
        if between
        else table.within.df
    )
    return Precision(
        _sd(inner, table.within.df, k, confidence),
        _sd(whole, df, k, confidence),
        math.sqrt(between),
        LIMIT * math.sqrt(inner),
        LIMIT * math.sqrt(whole),
    )


def _sd(variance: float, df: float, n: int, confidence: float) -> Estimate:
    """Return a standard deviation with its chi-squared interval."""
    tail = (1 - confidence) / 2
    low = math.sqrt(df * variance / float(chdtri(df, tail)))
    high = math.sqrt(df * variance / float(chdtri(df, 1 - tail)))
    return Estimate(math.sqrt(variance), low, high, n, confidence)
