"""The constants of charts of measured values: what range and spread of normal samples are."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import gammaln, ndtr  # type: ignore[import-untyped]

MOST_VALUES = 100
"""Largest subgroup: ranges of more values than this are not charted by anybody. Assumption; the
quadrature was checked up to it."""

NODES = 160
"""Quadrature points either way; doubling them changes no constant by more than 1e-10."""

FURTHEST = 9.0
"""Standard deviations integrated over: a normal value lies further out once in 1e18."""


@dataclass(frozen=True, slots=True)
class ChartConstants:
    """Constants for subgroups of `n` normal values; letters as the field writes them.

    Attributes
    ----------
    n : int
        Values in a subgroup.
    d2, d3 : float
        Mean and standard deviation of the range, in standard deviations.
    c4 : float
        Mean of the sample standard deviation (`ddof` 1), in standard deviations.
    A, A2, A3 : float
        Limits of the mean from sigma, from the mean range, from the mean standard deviation.
    B3, B4, B5, B6 : float
        Limits of the standard deviation, from its mean and from sigma.
    D1, D2, D3, D4 : float
        Limits of the range, from sigma and from its mean.
    E2 : float
        Limits of single values from the mean (moving) range.
    """

    n: int
    d2: float
    d3: float
    c4: float
    A: float
    A2: float
    A3: float
    B3: float
    B4: float
    B5: float
    B6: float
    D1: float
    D2: float
    D3: float
    D4: float
    E2: float


@cache
def chart_constants(n: int) -> ChartConstants:
    """Return the three-sigma constants for subgroups of `n`, 2 to `MOST_VALUES`.

    Raises
    ------
    ValueError
        `n` is outside its range.

    Notes
    -----
    By their definitions. ``d2 = E(range)`` and ``d3`` by Gauss-Legendre quadrature of the
    range's distribution, ``n`` times the integral of ``phi(x) (Phi(x + w) - Phi(x))**(n - 1)``
    (Tippett LHC (1925), Biometrika 17:364-387; from memory). Printed tables carry three or
    four decimals; some print 2.574 for ``D4`` at ``n = 3``, which is 2.5746.
    """
    if not 2 <= n <= MOST_VALUES or n != int(n):
        raise ValueError(f"n {n!r}: wanted a whole number from 2 to {MOST_VALUES}")
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    value, value_weight = FURTHEST * nodes, FURTHEST * weights
    width, width_weight = FURTHEST * (nodes + 1), FURTHEST * weights
    density = np.exp(-value * value / 2) / math.sqrt(2 * math.pi)
    between = ndtr(value[None, :] + width[:, None]) - ndtr(value)[None, :]
    wider = 1 - n * (between ** (n - 1) @ (density * value_weight))
    d2 = float(wider @ width_weight)
    d3 = math.sqrt(float(2 * (wider * width) @ width_weight) - d2 * d2)
    c4 = math.sqrt(2 / (n - 1)) * math.exp(float(gammaln(n / 2) - gammaln((n - 1) / 2)))
    of_sd = 3 * math.sqrt(1 - c4 * c4)
    root = math.sqrt(n)
    return ChartConstants(
        n=n,
        d2=d2,
        d3=d3,
        c4=c4,
        A=3 / root,
        A2=3 / (d2 * root),
        A3=3 / (c4 * root),
        B3=max(0.0, 1 - of_sd / c4),
        B4=1 + of_sd / c4,
        B5=max(0.0, c4 - of_sd),
        B6=c4 + of_sd,
        D1=max(0.0, d2 - 3 * d3),
        D2=d2 + 3 * d3,
        D3=max(0.0, 1 - 3 * d3 / d2),
        D4=1 + 3 * d3 / d2,
        E2=3 / d2,
    )
