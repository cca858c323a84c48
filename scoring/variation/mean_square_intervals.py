"""Intervals of sums and differences of independent mean squares.

Modified large sample limits: the large sample formula with its constants changed so that it is
exact when one mean square alone counts. Sums: Graybill FA, Wang CM (1980), J Am Stat Assoc
75:869-873; differences: Ting N, Burdick RK, Graybill FA, Jeyaratnam S, Lu TFC (1990), J Stat
Comput Simul 35:135-143; both as in Burdick RK, Graybill FA, Confidence Intervals on Variance
Components, 1992; from memory, coverage tested by simulation.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from scipy.special import chdtri, fdtri  # type: ignore[import-untyped]


def mean_square_limits(
    coefficients: Sequence[float],
    mean_squares: Sequence[float],
    dfs: Sequence[float],
    confidence: float,
) -> tuple[float, float]:
    """Return the limits of ``sum of c E(MS)``; the lower may be negative.

    Parameters
    ----------
    coefficients : sequence of float
        Of either sign; those that are 0 do not count.
    mean_squares, dfs : sequence of float
        Independent mean squares and their degrees of freedom.
    confidence : float
        Two-sided, equal tails.
    """
    tail = (1 - confidence) / 2
    used = [
        (c, s, d) for c, s, d in zip(coefficients, mean_squares, dfs, strict=True) if c and s > 0
    ]
    value = sum(c * s for c, s, _ in used)
    low = value - np.sqrt(max(0.0, _spread(used, tail)))
    turned = [(-c, s, d) for c, s, d in used]
    high = value + np.sqrt(max(0.0, _spread(turned, tail)))
    return float(low), float(high)


def _spread(used: list[tuple[float, float, float]], tail: float) -> float:
    """Return the square of the distance of the lower limit."""

    def short(df: float) -> float:  # 1 - 1/F(upper tail; df, infinite)
        return 1 - df / float(chdtri(df, tail))

    def long(df: float) -> float:  # 1/F(lower tail; df, infinite) - 1
        return df / float(chdtri(df, 1 - tail)) - 1

    plus = [(c * s, d) for c, s, d in used if c > 0]
    minus = [(-c * s, d) for c, s, d in used if c < 0]
    total = sum((short(d) * a) ** 2 for a, d in plus) + sum((long(d) * b) ** 2 for b, d in minus)
    for a, n in plus:
        for b, m in minus:
            f = float(fdtri(n, m, 1 - tail))
            total += a * b * ((f - 1) ** 2 - (short(n) * f) ** 2 - long(m) ** 2) / f
    for (a, n), (b, m) in combinations(plus, 2):
        if len(minus):  # the sum alone needs no such term
            joint = short(n + m) ** 2 * (n + m) ** 2 / (n * m)
            joint -= short(n) ** 2 * n / m + short(m) ** 2 * m / n
            total += a * b * joint / (len(plus) - 1)
    return total
