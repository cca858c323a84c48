"""First and second derivatives of the likelihood of random intercepts, at many points at once.

Everything is a log determinant of ``B = E + M D``: M the products of the smaller factors, the
fixed columns and the outcome less what the largest factor takes, D the variances relative to
the residual's (1 for the rest), E 1 for the factors and 0 for the rest. The residual sum of
squares is a ratio of two such determinants. ``d log|B| = tr(B^-1 dB)`` and
``d2 log|B| = tr(B^-1 d2B) - tr(B^-1 dB B^-1 dB)`` then give all that Newton's steps need, also
where a variance is exactly 0. Our own arithmetic, checked against small differences.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scoring.variation.mixed_likelihood import Likelihood, Numbers

AT_ONCE = 2**21
"""Numbers of one stack of matrices (16 MB). A working judgement, no source."""
START = 0.25
"""Variances over the residual's from which Newton's steps start. A working judgement."""
STEPS = 80
"""Most steps; no data tried needed more than 30. A safeguard."""
LONGEST = 2.0
"""Longest step of a logarithm of a variance. A working judgement."""
SETTLED = 1e-5
"""Step of a logarithm after which the place is found: Newton squares its error, so that about
1e-10 is left. A working judgement."""
NO_SCATTER = 1e9
"""Variance over the residual's above which there is no scatter to speak of: its spread is then a
thirty-thousandth, no measurement is that exact, and from about 1e10 on the sums of doubles no
longer hold it (tried). A working judgement."""


@dataclass(frozen=True)
class Curved:
    """Log determinant and log residual sum of squares at B points of k relative variances.

    Attributes
    ----------
    logdet, log_rss : ndarray, shape (B,)
        Values.
    logdet_slope, rss_slope : ndarray, shape (B, k)
        First derivatives.
    logdet_curve, rss_curve : ndarray, shape (B, k, k)
        Second derivatives.
    """

    logdet: Numbers
    log_rss: Numbers
    logdet_slope: Numbers
    rss_slope: Numbers
    logdet_curve: Numbers
    rss_curve: Numbers


def curved(model: Likelihood, gamma: Numbers) -> Curved:
    """Return the derivatives at relative variances ``gamma``, shape (B, k), in pieces."""
    size = model.m + model.sums.p + 1
    step = max(1, AT_ONCE // (3 * size * size))
    parts = [_curved(model, gamma[low : low + step]) for low in range(0, len(gamma), step)]
    if len(parts) == 1:
        return parts[0]
    return Curved(*(np.concatenate([getattr(p, f) for p in parts]) for f in Curved.__match_args__))


def _curved(model: Likelihood, gamma: Numbers) -> Curved:
    sums, m, p = model.sums, model.m, model.sums.p
    size = m + p + 1
    own = gamma[:, list(sums.order)]
    g, n = own[:, :1], sums.counts
    shrink = 1 / (1 + g * n)
    weights = np.stack([g * shrink, shrink**2, -2 * n * shrink**3], axis=1)
    if len(sums.grouped):
        taken = np.tensordot(weights, sums.grouped, 1)
    else:
        by_level = 1 / (1 + g * sums.level_counts)
        each = np.stack([g * by_level, by_level**2, -2 * sums.level_counts * by_level**3], axis=1)
        taken = np.stack([[model.weighted(w, w) for w in three] for three in each])
    matrix = sums.products - taken[:, 0]
    d = np.ones((len(gamma), size))
    d[:, :m] = own[:, model.owner]
    whole = matrix * d[:, None, :]
    whole[:, np.arange(m), np.arange(m)] += 1.0
    inverse = np.linalg.inv(whole)
    logdet = np.linalg.slogdet(whole)[1]
    first, second = -taken[:, 1] * d[:, None, :], -taken[:, 2] * d[:, None, :]
    k = own.shape[1]
    member = np.zeros((size, k))
    member[np.arange(m), model.owner] = 1.0

    def derived(upto: int) -> tuple[Numbers, Numbers, Numbers]:
        """Return log determinant, slope and curve of the leading block."""
        block, value = inverse, logdet
        if upto < size:
            tail = inverse[:, upto:, upto:]
            value = logdet + np.linalg.slogdet(tail)[1]
            corner = np.linalg.solve(tail, inverse[:, upto:, :upto])
            block = inverse[:, :upto, :upto] - inverse[:, :upto, upto:] @ corner
        whose = member[:upto]
        slope, curve = np.zeros((len(gamma), k)), np.zeros((len(gamma), k, k))
        if upto == 0:
            return value, slope, curve
        by_first = block @ first[:, :upto, :upto]
        slope[:, 0] = np.trace(by_first, axis1=1, axis2=2)
        curve[:, 0, 0] = np.einsum("bij,bji->b", block, second[:, :upto, :upto]) - np.einsum(
            "bij,bji->b", by_first, by_first
        )
        if m:
            rest = block @ matrix[:, :upto, :upto]
            slope += np.einsum("bii,ik->bk", rest, whose)
            crossed = np.einsum("bij,bji->bij", rest, rest)
            curve -= np.swapaxes(whose.T @ crossed @ whose, 1, 2)
            bare = -block @ taken[:, 1, :upto, :upto]
            both = np.einsum("bii->bi", bare) - np.einsum("bij,bji->bi", by_first, rest)
            mixed = both @ whose
            curve[:, 0, :] += mixed
            curve[:, :, 0] += mixed
        return value, slope, curve

    with_x = derived(m + p)
    full = derived(size)
    chosen = with_x if model.reml else derived(m)
    counted = n * shrink
    base = np.log1p(g * n) @ sums.how_many
    logdet_slope, logdet_curve = chosen[1].copy(), chosen[2].copy()
    logdet_slope[:, 0] += counted @ sums.how_many
    logdet_curve[:, 0, 0] -= counted**2 @ sums.how_many
    back = np.argsort(sums.order)
    return Curved(
        chosen[0] + base, full[0] - with_x[0],
        logdet_slope[:, back], (full[1] - with_x[1])[:, back],
        logdet_curve[:, back][:, :, back], (full[2] - with_x[2])[:, back][:, :, back],
    )  # fmt: skip


def profiled(model: Likelihood, gamma: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """Return the deviance at the best residual variance, its slope and its curve by ``gamma``."""
    at = curved(model, gamma)
    df = model.df
    value = at.logdet + df * (1 + np.log(2 * np.pi / df) + at.log_rss)
    return value, at.logdet_slope + df * at.rss_slope, at.logdet_curve + df * at.rss_curve


def whole(model: Likelihood, log_variance: Numbers, zero: Numbers) -> tuple[Numbers, ...]:
    """Return the deviance at any variances, its slope and its curve by their logarithms.

    Parameters
    ----------
    model : Likelihood
        The likelihood.
    log_variance : ndarray, shape (B, k + 1)
        Logarithm of each factor's variance over the residual's, then of the residual's.
    zero : ndarray of bool, shape (B, k)
        Factors whose variance is 0 whatever its logarithm says.

    Returns
    -------
    tuple of ndarray
        Value (B,), slope (B, k + 1), curve (B, k + 1, k + 1), slope by the relative
        variances themselves (B, k).
    """
    gamma = np.where(zero, 0.0, np.exp(log_variance[:, :-1]))
    level = log_variance[:, -1]
    at = curved(model, gamma)
    ratio = np.exp(at.log_rss - level)
    value = at.logdet + model.df * (np.log(2 * np.pi) + level) + ratio
    plain = at.logdet_slope + ratio[:, None] * at.rss_slope
    second = at.logdet_curve + ratio[:, None, None] * (
        at.rss_curve + at.rss_slope[:, :, None] * at.rss_slope[:, None, :]
    )
    k = gamma.shape[1]
    slope = np.empty((len(gamma), k + 1))
    slope[:, :k] = gamma * plain
    slope[:, k] = model.df - ratio
    curve = np.empty((len(gamma), k + 1, k + 1))
    curve[:, :k, :k] = second * gamma[:, :, None] * gamma[:, None, :]
    curve[:, np.arange(k), np.arange(k)] += slope[:, :k]
    curve[:, k, :k] = curve[:, :k, k] = -gamma * at.rss_slope * ratio[:, None]
    curve[:, k, k] = ratio
    return value, slope, curve, plain


def best(model: Likelihood, held: tuple[int, ...] = (), start: Numbers | None = None) -> Numbers:
    """Return the relative variances of the least deviance.

    Newton's steps on the logarithms; a variance is exactly 0 where the deviance rises from 0.

    Parameters
    ----------
    model : Likelihood
        The likelihood.
    held : tuple of int
        Factors kept at 0.
    start : ndarray, optional
        Where to start.
    """
    k = len(model.sums.levels)
    gamma = np.full(k, START) if start is None else start.copy()
    gamma[list(held)] = 0.0
    mean_count = model.sums.n / np.array(model.sums.levels)
    value, plain, second = (found[0] for found in profiled(model, gamma[None]))
    for _ in range(STEPS):
        free = np.flatnonzero(gamma > 0)
        step = np.zeros(k)
        if len(free):
            slope = gamma[free] * plain[free]
            curve = second[np.ix_(free, free)] * np.outer(gamma[free], gamma[free])
            curve[np.arange(len(free)), np.arange(len(free))] += slope
            step[free] = _downhill(slope, curve)
        tries = [np.where(gamma > 0, gamma * np.exp(step), 0.0)]
        if np.any(step <= -1.0):
            tries.append(np.where(step <= -1.0, 0.0, tries[0]))
        took = profiled(model, np.array(tries))
        at = int(np.argmin(took[0]))
        shorter = 0
        while took[0][at] > value + 1e-10 * abs(value) and shorter < 30:
            shorter += 1
            tries, at = [np.where(gamma > 0, gamma * np.exp(step * 0.5**shorter), 0.0)], 0
            took = profiled(model, np.array(tries))
        gamma = tries[at]
        value, plain, second = took[0][at], took[1][at], took[2][at]
        if gamma.max(initial=0.0) > NO_SCATTER:
            break
        if np.max(np.abs(step), initial=0.0) > SETTLED and shorter < 30:
            continue
        released = (gamma == 0) & (plain * (1 / mean_count) < -1e-7)
        released[list(held)] = False
        if not released.any():
            break
        gamma = np.where(released, 1e-3 / mean_count, gamma)
        value, plain, second = (found[0] for found in profiled(model, gamma[None]))
    return gamma


def _downhill(slope: Numbers, curve: Numbers) -> Numbers:
    """Return Newton's step, turned downhill where the curve is not, and not too long."""
    own, axes = np.linalg.eigh(curve)
    floor = max(1e-10, 1e-9 * float(np.abs(own).max()))
    step: Numbers = -axes @ ((axes.T @ slope) / np.maximum(np.abs(own), floor))
    longest = float(np.abs(step).max())
    return step * min(1.0, LONGEST / longest) if longest > 0 else step
