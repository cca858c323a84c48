"""How sure a share of points is: effective number, interval, standard error of measurement."""

from __future__ import annotations

import math
from collections.abc import Iterable

Z95 = 1.959963984540054
"""The 97.5 % point of the normal distribution, for two-sided 95 % intervals."""


def effective_number(weights: Iterable[float]) -> float:
    """Return how many equally weighted decisions these weights amount to.

    Kish's ``(sum w)**2 / sum w**2`` (Survey Sampling, 1965; from memory): n for n
    equal weights, less when some weigh more. 0 for no weights.
    """
    total = squares = 0.0
    for weight in weights:
        total += weight
        squares += weight * weight
    return total * total / squares if squares else 0.0


def wilson(share: float, number: float, z: float = Z95) -> tuple[float, float]:
    """Return Wilson's score interval of a share.

    Parameters
    ----------
    share : float
        0 to 1.
    number : float
        How many (effective) decisions it rests on, at least 0; 0 gives (0, 1).
    z : float
        Normal quantile, 1.96 for 95 %.

    Returns
    -------
    tuple of float
        Lower and upper limit, within 0 to 1.

    Notes
    -----
    Wilson, J Am Stat Assoc 1927, 22:209-212, as method 3 of Newcombe, Stat Med
    1998, 17:857-872 (restated; the tests hold his Table I). Credit may lie
    between 0 and 1; the variance of such a mean p is at most p (1 - p), so the
    interval is, if anything, too wide.
    """
    if number <= 0:
        return 0.0, 1.0
    square = z * z
    middle = 2.0 * number * share + square
    spread = z * math.sqrt(square + 4.0 * number * share * (1.0 - share))
    below = 2.0 * (number + square)
    # At 0 and 1 rounding would leave a last digit that is not the exact limit.
    low = 0.0 if share <= 0.0 else max(0.0, (middle - spread) / below)
    high = 1.0 if share >= 1.0 else min(1.0, (middle + spread) / below)
    return low, high


def standard_error(share: float, number: float) -> float:
    """Return the standard error of measurement of a share, at that share.

    Parameters
    ----------
    share : float
        0 to 1.
    number : float
        How many (effective) decisions it rests on.

    Returns
    -------
    float
        ``sqrt(p (1 - p) / (n - 1))``; infinite for one decision or fewer.

    Notes
    -----
    The binomial error model: Lord, Educ Psychol Meas 1955, 15:325-336 and 1957,
    17:510-521 (from memory). It is 0 for a faultless score, which would let two
    right answers prove competence; so p is held half a decision away from 0 and
    1. That bound is a working judgement, no source.
    """
    if number <= 1.0:
        return math.inf
    margin = 0.5 / number
    held = min(max(share, margin), 1.0 - margin)
    return math.sqrt(held * (1.0 - held) / (number - 1.0))
