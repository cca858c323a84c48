"""Repeatability and reproducibility in the sense of ISO 5725-2, and whether a group stands out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import chdtri  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence, check_confidence
from scoring.values_given import labels_given, numbers_given
from scoring.variation.balanced import one_way
from scoring.variation.mean_square_intervals import mean_square_limits
from scoring.variation.mixed_likelihood import Numbers

LIMIT = 2.8
"""Repeatability limit over its standard deviation, 1.96 times root 2 (ISO 5725-6; from
memory)."""


@dataclass(frozen=True)
class Precision:
    """Precision in the sense of ISO 5725-2.

    Attributes
    ----------
    mean : float
        ``m``, the mean of all values.
    repeatability_sd, between_sd, reproducibility_sd : Estimate
        ``s_r`` with its exact chi-squared interval; ``s_L`` (0 where the variance came out
        negative) and ``s_R`` with modified large sample limits, which for unequal cells use the
        plain mean of the groups' means. n: groups.
    repeatability_limit, reproducibility_limit : Estimate
        ``r = 2.8 s_r`` and ``R = 2.8 s_R``: two single values differ by less in 95 of 100.
    """

    mean: float
    repeatability_sd: Estimate
    between_sd: Estimate
    reproducibility_sd: Estimate
    repeatability_limit: Estimate
    reproducibility_limit: Estimate


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
    y, groups = numbers_given(values, "values"), labels_given(groups, "groups")
    table = one_way(y, groups)
    if isinstance(table, TooLittleEvidence):
        return table
    _, code = np.unique(np.asarray(groups), return_inverse=True)
    counts = np.bincount(code)
    k = len(counts)
    inner, inner_df = table.within.ms, table.within.df
    between = max(0.0, table.variance_between)
    tail = (1 - confidence) / 2
    ends = (inner_df * inner / float(chdtri(inner_df, p)) for p in (tail, 1 - tail))
    # The variance of plain means is between + inner / (harmonic mean of the counts), whatever
    # the counts are; for equal ones it is the mean square between over the count.
    spread = float(np.var(np.bincount(code, weights=y - y[0]) / counts, ddof=1))
    share = float(np.mean(1 / counts))
    lines = (spread, inner), (k - 1, inner_df), confidence
    repeat = _sd(inner, tuple(ends), k, confidence)
    whole = _sd(inner + between, mean_square_limits((1.0, 1 - share), *lines), k, confidence)
    return Precision(
        float(y.mean()),
        repeat,
        _sd(between, mean_square_limits((1.0, -share), *lines), k, confidence),
        whole,
        _limit(repeat),
        _limit(whole),
    )


def _sd(variance: float, ends: tuple[float, ...], n: int, confidence: float) -> Estimate:
    """Return a standard deviation from a variance and its limits."""
    low, high = (math.sqrt(max(0.0, end)) for end in ends)
    value = math.sqrt(variance)
    return Estimate(value, min(low, value), max(high, value), n, confidence)


def _limit(sd: Estimate) -> Estimate:
    """Return the limit that belongs to a standard deviation."""
    low, high = (None if end is None else LIMIT * end for end in (sd.low, sd.high))
    return Estimate(LIMIT * sd.value, low, high, sd.n, sd.confidence)
