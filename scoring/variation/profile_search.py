"""The ends of a profile interval looked for one by one: slow, for where quicker steps fail.

An outer search for the height, and inside it a search for the best of all other parameters.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq, minimize  # type: ignore[import-untyped]

from scoring.variation.mixed_likelihood import Likelihood, Numbers

Ends = tuple[float | None, float | None]
SMALLEST = 1e-8
"""Smallest variance, over the outcome's, that is told from 0; a working judgement."""
LARGEST = 1e5
"""Largest relative standard deviation tried: beyond, double numbers lose the residual."""
FARTHEST = 60
"""Doublings after which an upper end is given up (it is then None): none is that far."""


def variance_ends(model: Likelihood, theta: Numbers, at: int, low: float, high: float) -> Ends:
    """Return the ends of the variance of factor ``at``, or of the residual after the last.

    Parameters
    ----------
    model : Likelihood
        The likelihood.
    theta : ndarray
        Relative standard deviations at the best.
    at : int
        Which variance.
    low, high : float
        Deviance at the lower and at the upper end.
    """
    residual = model.pieces(theta)[1] / model.df
    values = np.append(theta**2, 1.0) * residual
    return _ends(
        lambda value: _best_for_variance(model, theta, at, value, residual),
        float(values[at]),
        (low, high),
    )


def share_ends(model: Likelihood, theta: Numbers, at: int, low: float, high: float) -> Ends:
    """Return the ends of the share of factor ``at``; parameters as for `variance_ends`."""
    values = np.append(theta**2, 1.0)
    return _share_ends(
        lambda share: _best_for_share(model, theta, at, share),
        float(values[at] / values.sum()),
        (low, high),
    )


def _least(of: Callable[[Numbers], float], start: Numbers, upper: list[float | None]) -> float:
    """Return the least of a function of the free parameters, none of them below its bound."""
    if not len(start):
        return of(start)
    found = minimize(
        of, np.minimum(start, LARGEST), method="L-BFGS-B",
        bounds=[(0.0, LARGEST if top is None else top) for top in upper],
        options={"ftol": 1e-10, "gtol": 1e-5},
    )  # fmt: skip
    return float(found.fun)


def _best_for_variance(
    model: Likelihood, theta: Numbers, at: int, value: float, residual: float
) -> float:
    """Return the deviance with one variance held."""
    k = len(theta)
    if at == k:
        return _least(
            lambda free: model.at(free, value), theta * np.sqrt(residual / value), [None] * k
        )
    others = [j for j in range(k) if j != at]

    def of(free: Numbers) -> float:
        variance = residual * float(np.exp(free[-1] - 5.0))
        own = np.empty(k)
        own[others] = free[:-1]
        own[at] = np.sqrt(value / variance)
        return model.at(own, variance)

    # The residual's logarithm is moved by 5 so that one lower bound of 0 serves: e^-5 of the
    # estimate is far outside any interval.
    return _least(of, np.append(theta[others], 5.0), [None] * (k - 1) + [12.0])


def _best_for_share(model: Likelihood, theta: Numbers, at: int, share: float) -> float:
    """Return the profiled deviance with one share held, ``0 <= share < 1``."""
    k = len(theta)
    if at < k:
        others = [j for j in range(k) if j != at]

        def of(free: Numbers) -> float:
            own = np.empty(k)
            own[others] = free
            own[at] = np.sqrt(share / (1 - share) * (1 + float(free @ free)))
            return model.value(own)

        return _least(of, theta[others], [None] * (k - 1))
    total = (1 - share) / share

    def split(free: Numbers) -> float:
        own, left = np.empty(k), total
        for j in range(k - 1):
            own[j] = left * free[j]
            left -= own[j]
        own[k - 1] = left
        return model.value(np.sqrt(np.maximum(own, 0.0)))

    start, left = np.empty(k - 1), max(float(theta @ theta), 1e-12)
    for j in range(k - 1):
        start[j] = min(1.0, float(theta[j] ** 2) / left) if left > 0 else 0.5
        left -= float(theta[j] ** 2)
    return _least(split, np.clip(start, 0.01, 0.99), [1.0] * (k - 1))


def _ends(of: Callable[[float], float], value: float, heights: tuple[float, float]) -> Ends:
    """Return where a profile crosses its heights below and above a variance."""
    low: float | None = 0.0
    tiny = max(value, 1.0) * SMALLEST
    if value > tiny and of(tiny) > heights[0]:
        low = float(brentq(lambda at: of(at) - heights[0], tiny, value, rtol=1e-4))
    upper = max(value, 1e-3)
    for _ in range(FARTHEST):
        upper *= 2
        if of(upper) > heights[1]:
            start = max(value, tiny)
            return low, float(brentq(lambda at: of(at) - heights[1], start, upper, rtol=1e-4))
    return low, None


def _share_ends(of: Callable[[float], float], value: float, heights: tuple[float, float]) -> Ends:
    """Return where a profile crosses its heights below and above a share."""
    small, large = 1e-7, 1 - 1e-7
    inside = min(max(value, 2 * small), 1 - 2e-7)
    low, high = 0.0, 1.0
    if of(small) > heights[0] > of(inside):
        low = float(brentq(lambda at: of(at) - heights[0], small, inside, rtol=1e-4))
    if of(large) > heights[1] > of(inside):
        high = float(brentq(lambda at: of(at) - heights[1], inside, large, rtol=1e-4))
    return min(low, value), max(high, value)
