"""The exact interval of a proportion, for where a guarantee matters more than width."""

from __future__ import annotations

from scipy.stats import beta  # type: ignore[import-untyped]

from scoring.variation.intervals import CONFIDENCE, Interval, check_proportion


def clopper_pearson(count: int, n: int, confidence: float = CONFIDENCE) -> Interval:
    """Return the exact (Clopper-Pearson) interval of a proportion.

    It covers the truth at least as often as it says, whatever the truth, and
    is wider than Wilson's for that.

    Parameters
    ----------
    count : int
        Successes, 0 to `n`.
    n : int
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
    Clopper CJ, Pearson ES (1934), Biometrika 26:404-413, by beta quantiles;
    method 5 of Newcombe RG (1998), Stat Med 17:857-872. Formula from memory,
    checked against Newcombe's Table I.
    """
    check_proportion(count, n, confidence)
    tail = (1 - confidence) / 2
    low = 0.0 if count == 0 else float(beta.ppf(tail, count, n - count + 1))
    high = 1.0 if count == n else float(beta.ppf(1 - tail, count + 1, n - count))
    return Interval(count / n, low, high, n)
