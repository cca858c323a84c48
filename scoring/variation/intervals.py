"""The interval of a proportion, without any heavy library.

The trainee's page prints one beside each station's result, so this module
loads nothing but the standard library and the marking's own interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from statistics import NormalDist

from scoring.evidence import CONFIDENCE, check_confidence
from scoring.marking.interval import wilson as limits


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
    The limits are those of :func:`scoring.marking.interval.wilson`: method 3 of
    Newcombe RG (1998), Stat Med 17:857-872, checked against his Table I.
    """
    check_proportion(count, n, confidence)
    share = count / n
    low, high = limits(share, n, NormalDist().inv_cdf(0.5 + confidence / 2))
    # Rounding must not push an end past the estimate.
    return Interval(share, min(low, share), max(high, share), n)


def check_proportion(count: float, n: float, confidence: float) -> None:
    """Raise `ValueError` unless ``0 <= count <= n``, ``n > 0`` and ``0 < confidence < 1``."""
    check_confidence(confidence)
    if not (isfinite(count) and isfinite(n)):
        raise ValueError(f"count {count!r} of n {n!r}: both must be finite numbers")
    if n <= 0 or not 0 <= count <= n:
        raise ValueError(f"count {count!r} of n {n!r}: wanted 0 <= count <= n and n above 0")
