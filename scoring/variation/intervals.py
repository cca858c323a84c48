"""The interval of a proportion, without any heavy library.

The trainee's page prints one beside each station's result, so this module
loads nothing but the standard library.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import NormalDist

CONFIDENCE = 0.95
"""Confidence of every interval of the kit, unless a caller asks otherwise. The usual
convention; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A proportion with its interval.

    Attributes
    ----------
    estimate : float
        The proportion found, 0 to 1.
    low, high : float
        Ends of the interval, 0 <= low <= estimate <= high <= 1.
    n : float
        What it rests on.
    """

    estimate: float
    low: float
    high: float
    n: float


def wilson(count: float, n: float, confidence: float = CONFIDENCE) -> Interval:
    """Return Wilson's score interval of a proportion.

    It never leaves [0, 1] and does not shrink to nothing at 0 or at `n`, where
    the textbook interval (Wald's) claims to be certain.

    Parameters
    ----------
    count : float
        Successes, 0 to `n`; points of partial credit are allowed.
    n : float
        Independent trials, above 0.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Interval

    Raises
    ------
    ValueError
        A value is outside its range or no number.

    Notes
    -----
    Wilson EB (1927), J Am Stat Assoc 22:209-212, without continuity correction;
    method 3 of Newcombe RG (1998), Stat Med 17:857-872. Formula from memory,
    checked against Newcombe's Table I.
    """
    check_proportion(count, n, confidence)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share = count / n
    middle = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    # Rounding must not push an end past the estimate or past the ends of the scale.
    low = 0.0 if count == 0 else min(max(0.0, middle - half), share)
    high = 1.0 if count == n else max(min(1.0, middle + half), share)
    return Interval(share, low, high, n)


def check_proportion(count: float, n: float, confidence: float) -> None:
    """Raise `ValueError` unless ``0 <= count <= n``, ``n > 0`` and ``0 < confidence < 1``."""
    if not (isfinite(count) and isfinite(n)):
        raise ValueError(f"count {count!r} of n {n!r}: both must be finite numbers")
    if n <= 0 or not 0 <= count <= n:
        raise ValueError(f"count {count!r} of n {n!r}: wanted 0 <= count <= n and n above 0")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence!r}: wanted a number between 0 and 1")
