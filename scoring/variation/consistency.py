"""Whether one operator's values stand out: Mandel's h and k, Cochran's and Grubbs' tests.

As ISO 5725-2 uses them. Critical values are computed from their distributions, for the mean
count of repeats where counts differ; from memory, checked by simulation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import betaincinv, stdtrit  # type: ignore[import-untyped]

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.values_given import labels_given, numbers_given
from scoring.variation.balanced import one_way
from scoring.variation.mixed_likelihood import Numbers

STRAGGLER, OUTLIER = 0.05, 0.01
"""Levels of the two limits of ISO 5725-2: a straggler is looked into, an outlier left out when
no cause is found (from memory)."""


@dataclass(frozen=True)
class Standing:
    """One statistic and its limits.

    Attributes
    ----------
    statistic : float
        Its value.
    straggler, outlier : float
        Critical values at 5 and at 1 %.
    group : object
        The group it is about.
    """

    statistic: float
    straggler: float
    outlier: float
    group: object


@dataclass(frozen=True)
class Consistency:
    """How the groups stand to each other.

    Attributes
    ----------
    h, k : dict of object to float
        Mandel's statistics by group: its mean's distance from the mean of all values in standard
        deviations of the means; its standard deviation over the pooled one. k of a group
        with one value is left out.
    h_limits, k_limits : tuple of float
        Critical values at 5 and 1 % for one group that is looked at (h: of its absolute value).
    cochran : Standing
        Largest variance over the sum of variances.
    lowest, highest : Standing
        Grubbs' statistics of the lowest and the highest mean; critical values two-sided.
    """

    h: dict[object, float]
    k: dict[object, float]
    h_limits: tuple[float, float]
    k_limits: tuple[float, float]
    cochran: Standing
    lowest: Standing
    highest: Standing


def consistency(
    values: Sequence[float] | Numbers, groups: Sequence[Any]
) -> Consistency | TooLittleEvidence:
    """Return Mandel's, Cochran's and Grubbs' statistics of one level.

    Parameters
    ----------
    values : sequence of float
        Measured values.
    groups : sequence
        Operator (laboratory) of each value; at least 3, with repeats.

    Raises
    ------
    DataError
        Lengths differ or a value is missing or infinite.
    """
    y, groups = numbers_given(values, "values"), labels_given(groups, "groups")
    table = one_way(y, groups)
    if isinstance(table, TooLittleEvidence):
        return table
    labels, code = np.unique(np.asarray(groups), return_inverse=True)
    names = labels.tolist()
    p = len(names)
    if p < 3:
        return TooLittleEvidence("groups", f"Only {counted(p, 'group')}; at least 3 are needed.", p)
    counts = np.bincount(code)
    y = y - y.mean()
    means = np.bincount(code, weights=y) / counts
    if np.ptp(means) == 0:
        return TooLittleEvidence("variance", "The groups' means do not differ at all.", p)
    squares = np.bincount(code, weights=(y - means[code]) ** 2)
    several = counts > 1
    variances = squares[several] / (counts[several] - 1)
    q = int(several.sum())
    if q < 2:
        return TooLittleEvidence("repeats", "Only 1 group has repeats; 2 are needed.", q)
    h = means / float(np.std(means, ddof=1))
    k = np.sqrt(variances / variances.mean())
    repeats = float(counts[several].mean())
    with_repeats = [name for name, more in zip(names, several, strict=True) if more]
    top = int(np.argmax(variances))
    cochran = Standing(
        float(variances[top] / variances.sum()),
        cochran_limit(q, repeats, STRAGGLER),
        cochran_limit(q, repeats, OUTLIER),
        with_repeats[top],
    )
    limits = grubbs_limit(p, STRAGGLER), grubbs_limit(p, OUTLIER)
    about = (means - means.mean()) / float(np.std(means, ddof=1))
    least, most = int(np.argmin(about)), int(np.argmax(about))
    return Consistency(
        dict(zip(names, h.tolist(), strict=True)),
        dict(zip(with_repeats, k.tolist(), strict=True)),
        (mandel_h_limit(p, STRAGGLER), mandel_h_limit(p, OUTLIER)),
        (mandel_k_limit(q, repeats, STRAGGLER), mandel_k_limit(q, repeats, OUTLIER)),
        cochran,
        Standing(float(-about[least]), *limits, names[least]),
        Standing(float(about[most]), *limits, names[most]),
    )


def _check(tail: float) -> None:
    if not 0 < tail < 1:
        raise ValueError(f"alpha: wanted between 0 and 1, found one that leaves {tail!r}")


def mandel_h_limit(groups: int, alpha: float) -> float:
    """Return the critical value of ``|h|`` of one of ``groups`` (at least 3) groups."""
    return _standing_out(groups, alpha / 2)


def grubbs_limit(groups: int, alpha: float, *, two_sided: bool = True) -> float:
    """Return Grubbs' critical value for one outlier among ``groups`` (at least 3) means."""
    return _standing_out(groups, alpha / max(groups, 1) / (2 if two_sided else 1))


def _standing_out(groups: int, tail: float) -> float:
    if not 3 <= groups < math.inf:
        raise DataError("groups", groups, "at least 3")
    _check(tail)
    t = float(stdtrit(groups - 2, 1 - tail))
    return (groups - 1) * t / math.sqrt(groups * (groups - 2 + t * t))


def mandel_k_limit(groups: int, repeats: float, alpha: float) -> float:
    """Return the critical value of k of one of ``groups`` groups with ``repeats`` values each."""
    return math.sqrt(groups * _share(groups, repeats, alpha))


def cochran_limit(groups: int, repeats: float, alpha: float) -> float:
    """Return Cochran's critical value for ``groups`` variances of ``repeats`` values each."""
    return _share(groups, repeats, alpha / max(groups, 1))


def _share(groups: int, repeats: float, tail: float) -> float:
    """Return how much of the sum of variances one has with a chance of ``tail`` or less."""
    _check(tail)
    if not (2 <= groups < math.inf and 2 <= repeats < math.inf):
        raise DataError("groups", (groups, repeats), "at least 2 groups of at least 2 values")
    half = (repeats - 1) / 2
    return float(betaincinv(half, half * (groups - 1), 1 - tail))
