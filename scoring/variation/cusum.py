"""How long a CUSUM or EWMA of measured values runs before it signals, by chance or after a shift.

Run lengths solve their integral equation on Gauss-Legendre nodes (Nystrom). The
kernel is smooth, so the result is right to far more digits than any table prints.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Literal

import numpy as np
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.special import ndtr  # type: ignore[import-untyped]

from scoring.variation.event_counts import Floats

Sides = Literal["two", "upper", "lower"]

LEAST_NODES = 24
"""Quadrature points on a short interval; with `NODES_PER_WIDTH` more on a long one, doubling
them changes no run length tried in its ninth digit (tested)."""

NODES_PER_WIDTH = 4
"""Quadrature points for each standard deviation of the kernel that the interval is long."""

LONGEST_LOG = 700.0
"""Exponent beyond which e to it is no double any more."""

LONGEST = 1e9
"""Longest average run that a limit is looked for; double precision holds it to 6 digits."""


def cusum_arl(
    h: float,
    k: float = 0.5,
    shift: float = 0.0,
    *,
    sided: Sides = "two",
    head_start: float = 0.0,
) -> float:
    """Return the average run length of the CUSUM of normal values.

    Parameters
    ----------
    h : float
        Decision interval, in standard deviations, above 0.
    k : float
        Reference value, in standard deviations, from 0; half the shift to be found.
    shift : float
        True mean less target, in standard deviations.
    sided : {'two', 'upper', 'lower'}
        Both sums, or one.
    head_start : float
        Where each sum starts, 0 to `h` (``h / 2`` is the fast initial response).

    Returns
    -------
    float
        Mean number of values until the first signal, from the start (zero state).

    Raises
    ------
    ValueError
        A value is outside its range.

    Notes
    -----
    One side: ``L(u) = 1 + L(0) Phi(k - u - shift) + integral of L(x) phi(x + k - u - shift)``
    over 0 to `h` (Page 1954). Two sides by Lucas JM, Crosier RB (1982), Technometrics
    24:199-205: ``(L+(u) L-(0) + L+(0) L-(u) - L+(0) L-(0)) / (L+(0) + L-(0))``, which without
    a head start is ``1 / (1 / L+ + 1 / L-)``. From memory; checked against tables.
    """
    _check(h, k, shift, sided)
    if not 0 <= head_start <= h:
        raise ValueError(f"head_start {head_start!r}: wanted a number from 0 to h, {h!r}")
    if sided != "two":
        from_zero, share = _one_sided(h, k, shift if sided == "upper" else -shift, head_start)
        return from_zero * share
    above, above_share = _one_sided(h, k, shift, head_start)
    below, below_share = _one_sided(h, k, -shift, head_start)
    # The formula below, divided through by both lengths, so that a long one does not overflow.
    rate = 1.0 / above + 1.0 / below
    return (above_share + below_share - 1.0) / rate if rate > 0 else math.inf


def _check(h: float, k: float, shift: float, sided: str) -> None:
    if not (0 < h < math.inf and 0 <= k < math.inf and math.isfinite(shift)):
        raise ValueError(f"h {h!r}, k {k!r}, shift {shift!r}: wanted h above 0, k from 0, finite")
    if sided not in ("two", "upper", "lower"):
        raise ValueError(f"sided {sided!r}: wanted 'two', 'upper' or 'lower'")


def _one_sided(h: float, k: float, shift: float, start: float) -> tuple[float, float]:
    """Return the run length from 0, and that from the start as a share of it.

    What is solved is one visit away from 0 (its length, and whether it ends in a signal), not
    the whole run, so that the system stays well behaved however long the run is.
    """
    nodes, weights = _nodes(0.0, h, 1.0)
    drift = shift - k
    froms = np.concatenate([nodes, [0.0, start]])
    kernel = _density(nodes[None, :] - froms[:, None] - drift) * weights
    direct = ndtr(froms + drift - h)
    side = np.column_stack([np.ones(len(nodes)), direct[:-2]])
    inside = np.linalg.solve(np.eye(len(nodes)) - kernel[:-2], side)
    ends = kernel[-2:] @ inside + np.column_stack([np.ones(2), direct[-2:]])
    (steps, signal), (start_steps, start_signal) = ends.tolist()
    from_zero = steps / signal if signal > 0 else math.inf
    return from_zero, start_steps / from_zero + 1.0 - start_signal


def siegmund_arl(h: float, k: float = 0.5, shift: float = 0.0, *, sided: Sides = "two") -> float:
    """Return Siegmund's approximation to :func:`cusum_arl`, for a check by hand.

    ``(exp(-2 d b) + 2 d b - 1) / (2 d**2)`` with ``d = shift - k`` and ``b = h + 1.166``, and
    ``b**2`` where ``d`` is 0: Siegmund D (1985), Sequential Analysis (from memory).
    Infinite where it is longer than any number a computer holds. Raises as :func:`cusum_arl`.
    """
    _check(h, k, shift, sided)

    def one(drift: float) -> float:
        b = h + 1.166
        if abs(drift) < 1e-9:
            return b * b
        if -2 * drift * b > LONGEST_LOG:
            return math.inf
        return (math.expm1(-2 * drift * b) + 2 * drift * b) / (2 * drift * drift)

    if sided != "two":
        return one((shift if sided == "upper" else -shift) - k)
    rate = 1.0 / one(shift - k) + 1.0 / one(-shift - k)
    return 1.0 / rate if rate > 0 else math.inf


def cusum_h(
    arl0: float, k: float = 0.5, *, sided: Sides = "two", head_start_share: float = 0.0
) -> float:
    """Return the decision interval with the wanted average run length without a shift.

    Parameters
    ----------
    arl0 : float
        Wanted average run length, above that of ``h = 0`` and at most `LONGEST`.
    k : float
        Reference value, in standard deviations.
    sided : {'two', 'upper', 'lower'}
        As in :func:`cusum_arl`.
    head_start_share : float
        Head start as a share of `h`, 0 to 1.

    Raises
    ------
    ValueError
        No interval has that run length.
    """
    return _limit_for(
        arl0,
        lambda h: cusum_arl(h, k, sided=sided, head_start=head_start_share * h),
        "h",
    )


def ewma_arl(limit: float, weight: float = 0.1, shift: float = 0.0, *, start: float = 0.0) -> float:
    """Return the average run length of the two-sided EWMA of normal values.

    Parameters
    ----------
    limit : float
        Width ``L`` of the limits, in standard errors of the EWMA in the long run, above 0.
    weight : float
        Weight (lambda) of the newest value, above 0 to 1.
    shift : float
        True mean less target, in standard deviations.
    start : float
        Where the EWMA starts, in standard deviations from the target.

    Returns
    -------
    float
        Mean number of values until the first signal, with constant limits
        ``L sqrt(weight / (2 - weight))``; infinite above `LONGEST`.

    Raises
    ------
    ValueError
        A value is outside its range.

    Notes
    -----
    The integral equation of Crowder SV (1987), Technometrics 29:401-407 (from memory). The
    tables of Lucas JM, Saccucci MS (1990), Technometrics 32:1-12 rest on a Markov chain and
    differ in the last printed digit at some places.
    """
    if not (0 < weight <= 1 and 0 < limit < math.inf and math.isfinite(shift)):
        raise ValueError(f"limit {limit!r}, weight {weight!r}: wanted above 0, weight to 1")
    end = limit * math.sqrt(weight / (2.0 - weight))
    if not abs(start) <= end:
        raise ValueError(f"start {start!r}: wanted a number within the limits, {end:g}")
    if weight == 1.0:
        outside = float(ndtr(-limit - shift) + ndtr(-limit + shift))
        return 1.0 / outside if outside > 1.0 / LONGEST else math.inf
    nodes, weights = _nodes(-end, end, weight)

    def steps(before: Floats) -> Floats:
        to = (nodes[None, :] - (1.0 - weight) * before[:, None]) / weight - shift
        return _density(to) * (weights / weight)

    length = np.linalg.solve(np.eye(len(nodes)) - steps(nodes), np.ones(len(nodes)))
    found = 1.0 + float((steps(np.array([start])) @ length)[0])
    # Beyond this the system is singular to double precision, and what comes out means nothing.
    return found if 1.0 <= found < LONGEST else math.inf


def ewma_limit(arl0: float, weight: float = 0.1) -> float:
    """Return the width ``L`` of EWMA limits with the wanted average run length without a shift."""
    return _limit_for(arl0, lambda limit: ewma_arl(limit, weight), "limit")


def _limit_for(arl0: float, length: Callable[[float], float], what: str) -> float:
    if not arl0 <= LONGEST:
        raise ValueError(f"arl0 {arl0!r}: wanted at most {LONGEST:g}")
    least, most = 1e-6, 1.0
    if length(least) >= arl0:
        raise ValueError(f"arl0 {arl0!r}: shorter than with {what} 0")
    while length(most) < arl0:
        most *= 1.5
    return float(brentq(lambda x: math.log(length(x) / arl0), least, most, xtol=1e-10))


def _nodes(low: float, high: float, width: float) -> tuple[Floats, Floats]:
    # In steps of the least number, so that a search for a limit meets few different rules.
    size = LEAST_NODES * math.ceil(1 + NODES_PER_WIDTH * (high - low) / width / LEAST_NODES)
    nodes, weights = _legendre(size)
    half = (high - low) / 2.0
    return (low + high) / 2.0 + half * nodes, half * weights


@lru_cache(maxsize=32)
def _legendre(size: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(size)
    return nodes, weights


def _density(x: Floats) -> Floats:
    found: Floats = np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
    return found
