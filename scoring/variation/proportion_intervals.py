"""Intervals of a proportion by every common method, and how many faultless trials prove a limit.

The light Wilson interval of :mod:`scoring.variation.intervals` is what a trainee's
page prints; here are the same and the others, for the manager's and trainer's pages.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.special import betainc, betaincinv, ndtri  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence

Sided = Literal["two", "lower", "upper"]

MOST_TRIALS = 10_000_000
"""Largest number of trials that `trials_needed` looks at; beyond it nobody tests. Assumption."""


def proportion_interval(
    count: float,
    n: float,
    confidence: float = CONFIDENCE,
    method: str = "wilson",
    *,
    sided: Sided = "two",
    clip: bool = False,
) -> Estimate | TooLittleEvidence:
    """Return a proportion with its interval.

    Parameters
    ----------
    count : float
        Events, 0 to `n`.
    n : float
        Independent trials. 0 gives `TooLittleEvidence` ``trials``.
    confidence : float
        Between 0 and 1, both excluded.
    method : str
        ``wilson`` (score, the default), ``wilson-cc`` (with continuity correction),
        ``clopper-pearson`` or ``exact``, ``mid-p``, ``wald``, ``wald-cc``,
        ``agresti-coull``, ``jeffreys`` (equal tails; low end 0 at no event and high end
        1 at all events, as Brown, Cai and DasGupta advise). Spaces and underscores may
        stand for the hyphen.
    sided : {'two', 'lower', 'upper'}
        ``upper`` puts the whole of ``1 - confidence`` above the upper limit (the lower
        is then 0), ``lower`` the other way round.
    clip : bool
        Cut ends outside [0, 1], which only Wald and Agresti-Coull can give. Off, so
        that the textbook values come out (Wald's -0.0319 for 1 of 29).

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` is the number of trials, rounded down.

    Raises
    ------
    DataError
        `count` is outside 0 to `n`, or either is no finite number.
    ValueError
        `confidence`, `method` or `sided` is none of those above.

    Notes
    -----
    Methods 1 to 6 of Newcombe RG (1998), Stat Med 17:857-872 (checked against his
    Table I, from memory); Agresti-Coull adds ``z**2/2`` events and ``z**2`` trials
    (Agresti A, Coull BA (1998), Am Stat 52:119-126) and Jeffreys is
    ``Beta(count + 1/2, n - count + 1/2)``, both as in Brown LD, Cai TT, DasGupta A
    (2001), Stat Sci 16:101-133. From memory; checked against statsmodels.
    """
    check_confidence(confidence)
    named = method.strip().lower().replace("_", "-").replace(" ", "-")
    if named not in METHODS:
        raise ValueError(f"method {method!r}: wanted one of {', '.join(sorted(METHODS))}")
    if sided not in ("two", "lower", "upper"):
        raise ValueError(f"sided {sided!r}: wanted 'two', 'lower' or 'upper'")
    if count is None or n is None or not (math.isfinite(count) and math.isfinite(n)):
        raise DataError("count and n", (count, n), "finite numbers")
    if n < 0 or not 0 <= count <= max(n, 0):
        raise DataError("count", count, f"from 0 to n, {n:g}")
    if n == 0:
        return TooLittleEvidence("trials", "There is no result yet.", 0)
    tail = (1 - confidence) / 2 if sided == "two" else 1 - confidence
    low, high = METHODS[named](float(count), float(n), tail)
    share = count / n
    # Rounding must not push an end past the estimate; at 0 and n the scores' ends are exact.
    low, high = min(low, share), max(high, share)
    if clip:
        low, high = max(0.0, low), min(1.0, high)
    if sided != "two":
        low, high = (0.0, high) if sided == "upper" else (low, 1.0)
    return Estimate(share, low, high, int(n), confidence)


def _wilson(count: float, n: float, tail: float) -> tuple[float, float]:
    z = -float(ndtri(tail))
    middle = 2 * count + z * z
    spread = z * math.sqrt(z * z + 4 * count * (1 - count / n))
    below = 2 * (n + z * z)
    low = 0.0 if count == 0 else (middle - spread) / below
    return low, 1.0 if count == n else (middle + spread) / below


def _wilson_corrected(count: float, n: float, tail: float) -> tuple[float, float]:
    z = -float(ndtri(tail))
    share = count / n
    below = 2 * (n + z * z)

    def root(share: float) -> float:
        """Return the lower limit; the upper is the mirror image of the other outcome's."""
        if share <= 0:
            return 0.0
        inside = z * z - 2 - 1 / n + 4 * share * (n * (1 - share) + 1)
        # Below half an event the corrected score has no root: then the limit is 0.
        return max(0.0, (2 * n * share + z * z - 1 - z * math.sqrt(max(inside, 0.0))) / below)

    return root(share), 1 - root(1 - share)


def _clopper_pearson(count: float, n: float, tail: float) -> tuple[float, float]:
    low = 0.0 if count == 0 else float(betaincinv(count, n - count + 1, tail))
    high = 1.0 if count == n else float(betaincinv(count + 1, n - count, 1 - tail))
    return low, high


def _mid_p(count: float, n: float, tail: float) -> tuple[float, float]:
    def above(share: float) -> float:
        """Return P(more than count) + P(count) / 2 at this share."""
        at_least = float(betainc(count, n - count + 1, share)) if count > 0 else 1.0
        more = float(betainc(count + 1, n - count, share)) if count < n else 0.0
        return (at_least + more) / 2

    def where(level: float) -> float:
        return float(brentq(lambda share: above(share) - level, 0.0, 1.0, xtol=1e-14))

    return 0.0 if count == 0 else where(tail), 1.0 if count == n else where(1 - tail)


def _wald(count: float, n: float, tail: float) -> tuple[float, float]:
    share = count / n
    half = -float(ndtri(tail)) * math.sqrt(share * (1 - share) / n)
    return share - half, share + half


def _wald_corrected(count: float, n: float, tail: float) -> tuple[float, float]:
    low, high = _wald(count, n, tail)
    return low - 0.5 / n, high + 0.5 / n


def _agresti_coull(count: float, n: float, tail: float) -> tuple[float, float]:
    z = -float(ndtri(tail))
    return _wald(count + z * z / 2, n + z * z, tail)


def _jeffreys(count: float, n: float, tail: float) -> tuple[float, float]:
    shape = count + 0.5, n - count + 0.5
    low = 0.0 if count == 0 else float(betaincinv(*shape, tail))
    return low, 1.0 if count == n else float(betaincinv(*shape, 1 - tail))


METHODS: dict[str, Callable[[float, float, float], tuple[float, float]]] = {
    "wilson": _wilson,
    "wilson-cc": _wilson_corrected,
    "clopper-pearson": _clopper_pearson,
    "exact": _clopper_pearson,
    "mid-p": _mid_p,
    "wald": _wald,
    "wald-cc": _wald_corrected,
    "agresti-coull": _agresti_coull,
    "jeffreys": _jeffreys,
}
"""Each method: (count, n, probability in one tail) to the two ends."""


def difference_interval(
    count: float, n: float, other_count: float, other_n: float, confidence: float = CONFIDENCE
) -> Estimate | TooLittleEvidence:
    """Return the difference of two independent proportions with its hybrid score interval.

    Parameters
    ----------
    count, n : float
        Events and trials of the one.
    other_count, other_n : float
        Events and trials of the other, which is taken off.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` is the number of trials of both.

    Raises
    ------
    DataError, ValueError
        As :func:`proportion_interval`.

    Notes
    -----
    Method 10 of Newcombe RG (1998), Stat Med 17:873-890: each end takes the squared
    distances of the two Wilson ends from their estimates (from memory).
    """
    one = proportion_interval(count, n, confidence)
    other = proportion_interval(other_count, other_n, confidence)
    if isinstance(one, TooLittleEvidence):
        return one
    if isinstance(other, TooLittleEvidence):
        return other
    tail = (1 - confidence) / 2
    low, high = _wilson(count, n, tail)
    other_low, other_high = _wilson(other_count, other_n, tail)
    gap = one.value - other.value
    return Estimate(
        gap,
        gap - math.hypot(one.value - low, other_high - other.value),
        gap + math.hypot(high - one.value, other.value - other_low),
        one.n + other.n,
        confidence,
    )


def rule_of_three(n: float) -> float:
    """Return ``3 / n`` (at most 1), the quick upper 95 % limit after `n` trials without an event.

    Hanley JA, Lippman-Hand A (1983), JAMA 249:1743-1745 (from memory). The exact
    limit is ``proportion_interval(0, n, method="exact", sided="upper")``.
    """
    if not (math.isfinite(n) and n > 0):
        raise DataError("n", n, "a finite number above 0")
    return min(1.0, 3 / n)


def trials_needed(limit: float, failures: int = 0, confidence: float = CONFIDENCE) -> int:
    """Return the fewest trials whose exact one-sided upper limit is at most `limit`.

    Parameters
    ----------
    limit : float
        Failure rate to be shown, between 0 and 1, both excluded.
    failures : int
        Failures that may be among them.
    confidence : float
        Between 0 and 1, both excluded.

    Raises
    ------
    ValueError
        A value is outside its range, or more than `MOST_TRIALS` would be needed.

    Notes
    -----
    Clopper-Pearson: ``P(at most `failures` | limit) <= 1 - confidence``. 59 trials
    without a failure show 5 % with 95 % confidence.
    """
    check_confidence(confidence)
    if not 0 < limit < 1:
        raise ValueError(f"limit {limit!r}: wanted a number between 0 and 1")
    if failures < 0:
        raise ValueError(f"failures {failures!r}: wanted 0 or more")

    def shown(n: int) -> bool:
        within = float(betainc(n - failures, failures + 1, 1 - limit)) if n > failures else 1.0
        return within <= (1 - confidence) * (1 + 1e-12)

    low, high = failures, failures + 1
    while not shown(high):
        low, high = high, 2 * high
        if high > MOST_TRIALS:
            raise ValueError(f"limit {limit!r}: more than {MOST_TRIALS} trials would be needed")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if shown(middle) else (middle, high)
    return high
