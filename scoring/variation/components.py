"""How much of a measured outcome's variation lies with whom and what: variance components.

Crossed or nested random intercepts (operator, scenario, their pairs, rater …) fitted by
restricted or full maximum likelihood, exactly, also when cells are missing. Own code,
because a general program takes longer by an order of magnitude and cannot be asked for the
intervals of shares.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize  # type: ignore[import-untyped]
from scipy.special import ndtri  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
)
from scoring.variation.component_intervals import profile_intervals
from scoring.variation.mixed_likelihood import Codes, Likelihood, Numbers, gather

RESIDUAL = "residual"
"""Name of the variance that no factor explains."""
TOUCHING = 1e-4
"""Relative standard deviation below which a factor is tried at exactly 0. A working judgement,
no source; the deviance decides."""


@dataclass(frozen=True)
class Fixed:
    """One fixed effect.

    Attributes
    ----------
    name : str
        ``intercept`` or the caller's name.
    estimate : Estimate
        With its normal (z) interval, as large samples allow; too narrow with few operators.
    standard_error : float
        In the outcome's unit; given the components.
    """

    name: str
    estimate: Estimate
    standard_error: float


@dataclass(frozen=True)
class Effect:
    """The predicted effect of one level (BLUP).

    Attributes
    ----------
    level : object
        The level's label.
    value : float
        Shrunken difference from the mean, in the outcome's unit.
    sd : float
        Conditional standard deviation, given the components and fixed effects (as lme4's
        ``condVar``).
    n : int
        Rows behind it.
    """

    level: object
    value: float
    sd: float
    n: int


@dataclass(frozen=True)
class Components:
    """A fitted model.

    Attributes
    ----------
    variances : dict of str to Estimate
        Variance of each factor and of ``residual``, squared unit of the outcome. n is the
        number of levels (rows for the residual). Intervals by profile likelihood; None
        when they were not asked for.
    shares : dict of str to Estimate
        Each variance over their sum: a factor's share is its intraclass correlation.
    fixed : tuple of Fixed
        Intercept and the caller's columns.
    effects : dict of str to tuple of Effect
        BLUPs of each factor, sorted by level.
    criterion : float
        -2 log (restricted) likelihood: lme4's ``REMLcrit`` or ML deviance.
    log_likelihood : float
        ``-criterion / 2``.
    reml : bool
        Restricted rather than full likelihood.
    n : int
        Rows used.
    left_out : int
        Rows without an outcome.
    at_zero : tuple of str
        Factors whose variance is estimated as exactly 0.
    """

    variances: dict[str, Estimate]
    shares: dict[str, Estimate]
    fixed: tuple[Fixed, ...]
    effects: dict[str, tuple[Effect, ...]]
    criterion: float
    log_likelihood: float
    reml: bool
    n: int
    left_out: int
    at_zero: tuple[str, ...]


def variance_components(
    outcome: Sequence[float | None] | Numbers,
    factors: Mapping[str, Sequence[Any] | Codes],
    *,
    fixed: Mapping[str, Sequence[float]] | None = None,
    reml: bool = True,
    intervals: bool = True,
    confidence: float = CONFIDENCE,
) -> Components | TooLittleEvidence:
    """Fit ``outcome = intercept + fixed effects + random factors + residual``.

    Parameters
    ----------
    outcome : sequence of float, length n
        Measured values, any unit; NaN or None where missing (the row is left out).
    factors : mapping of str to sequence, each of length n
        Labels of each random factor. Crossed or nested alike: a nested one needs labels of
        its own (``"A:a"``), a pair likewise. Integers and pandas categoricals are quickest.
    fixed : mapping of str to sequence of float, optional
        Columns beside the intercept; 0/1 for groups.
    reml : bool
        Restricted (default) or full maximum likelihood.
    intervals : bool
        Whether intervals of variances and shares are computed (profile likelihood).
    confidence : float
        Confidence of every interval.

    Returns
    -------
    Components or TooLittleEvidence
        Codes ``rows``, ``levels`` (a factor with one level, or with as many as rows),
        ``variance`` (all values equal).

    Raises
    ------
    DataError
        Lengths differ; an infinite value; a missing label; fixed columns that say the same.
    ValueError
        No factor, or more than 4,000 levels outside the largest factor.
    """
    check_confidence(confidence)
    if not factors:
        raise ValueError("factors: wanted at least one")
    y = np.asarray(outcome, dtype=float)
    if np.isinf(y).any():
        raise DataError("outcome", float(y[np.isinf(y)][0]), "finite numbers")
    seen = ~np.isnan(y)
    whole = bool(seen.all())
    left_out = int(len(y) - seen.sum())
    for name, column in {**factors, **(fixed or {})}.items():
        if len(column) != len(y):
            raise DataError(name, len(column), f"{len(y)} values, one for each outcome")
    y = y if whole else y[seen]
    x = np.ones((len(y), 1 + len(fixed or {})))
    for at, (name, values) in enumerate((fixed or {}).items(), start=1):
        x[:, at] = np.asarray(values, dtype=float)[seen]
        if not np.isfinite(x[:, at]).all():
            raise DataError(name, "a missing or infinite value", "finite numbers")
    if len(y) < x.shape[1] + 2:
        return TooLittleEvidence("rows", f"Only {len(y)} values; more are needed.", len(y))
    if np.ptp(y) == 0:
        said = f"All {len(y)} values are equal; there is no variation to divide."
        return TooLittleEvidence("variance", said, len(y))
    if x.shape[1] > 1 and np.linalg.matrix_rank(x) < x.shape[1]:
        raise DataError("fixed", "columns that say the same", "columns that differ")
    codes: list[Codes] = []
    labels: list[list[object]] = []
    for name, column in factors.items():
        code, level = _coded(name, column, None if whole else seen)
        if not 1 < len(level) < len(y):
            said = (
                f"Only one {name}; at least 2 are needed."
                if len(level) < 2
                else f"Every value has a {name} of its own; some need to be repeated."
            )
            return TooLittleEvidence("levels", said, len(level))
        codes.append(code)
        labels.append(level)
    centre = float(y.mean())
    spread = float(y.std())
    model = Likelihood(gather((y - centre) / spread, x, codes, [len(k) for k in labels]), reml=reml)
    theta = best(model)
    return _told(
        model, theta, list(factors), labels, codes, ["intercept", *(fixed or {})],
        (centre, spread, left_out), intervals, confidence,
    )  # fmt: skip


def _coded(
    name: str, column: Sequence[Any] | Codes, seen: np.ndarray[Any, Any] | None
) -> tuple[Codes, list[object]]:
    """Return codes of the levels that occur, and those levels sorted."""
    given: Any = getattr(column, "cat", column)
    values = np.asarray(given.codes if hasattr(given, "codes") else column)
    names = list(given.categories) if hasattr(given, "codes") else None
    if seen is not None:
        values = values[seen]
    if values.dtype.kind in "iu":
        low, high = int(values.min()), int(values.max())
        if names is not None and low < 0:
            raise DataError(name, None, "a label for every value")
        if high - low < 4 * len(values) + 1000:
            shifted = values.astype(np.intp) - low if low else values.astype(np.intp, copy=False)
            there = np.flatnonzero(np.bincount(shifted))
            if len(there) < high - low + 1:
                place = np.zeros(high - low + 1, dtype=np.intp)
                place[there] = np.arange(len(there))
                shifted = place[shifted]
            return shifted, [names[k + low] if names else int(k + low) for k in there]
    if values.dtype.kind == "O":
        for value in values:
            if value is None or value != value:
                raise DataError(name, value, "a label for every value")
        values = values if len({type(v) for v in values}) == 1 else values.astype(str)
    if values.dtype.kind == "f" and not np.isfinite(values).all():
        raise DataError(name, "a missing label", "a label for every value")
    level, code = np.unique(values, return_inverse=True)
    return code.astype(np.intp), level.tolist()


def best(model: Likelihood) -> Numbers:
    """Return the relative standard deviations of the least deviance.

    Quasi-Newton within bounds, then Newton's steps on the exact slope until it is nought.
    """
    k = len(model.sums.levels)
    limits = [(0.0, None)] * k
    found = minimize(
        model.with_slope, np.full(k, 0.5), jac=True, method="L-BFGS-B", bounds=limits,
        options={"ftol": 1e-14, "gtol": 1e-7, "maxiter": 200},
    )  # fmt: skip
    theta: Numbers = np.maximum(found.x, 0.0)
    value = model.value(theta)
    for at in range(k):  # nought is a stationary point of theta, so it is left or taken on purpose
        other = theta.copy()
        other[at] = 0.0 if theta[at] > 0 else TOUCHING
        if theta[at] < 100 * TOUCHING and model.value(other) <= value:
            if theta[at] == 0:
                other = np.maximum(
                    minimize(
                        model.with_slope, other + 0.1, jac=True, method="L-BFGS-B", bounds=limits,
                        options={"ftol": 1e-14, "gtol": 1e-7},
                    ).x,
                    0.0,
                )  # fmt: skip
            if model.value(other) <= value:
                theta, value = other, model.value(other)
    free = np.flatnonzero(theta > 0)
    for _ in range(4 if len(free) else 0):
        slope = model.with_slope(theta)[1][free]
        curve = np.empty((len(free), len(free)))
        for at, j in enumerate(free):
            step = 1e-4 * theta[j]
            up, down = theta.copy(), theta.copy()
            up[j] += step
            down[j] -= step
            rise = model.with_slope(up)[1][free] - model.with_slope(down)[1][free]
            curve[at] = rise / (2 * step)
        curve = (curve + curve.T) / 2
        if np.linalg.eigvalsh(curve)[0] <= 0:
            break
        step_taken = np.linalg.solve(curve, slope)
        if np.any(np.abs(step_taken) > 0.2 * theta[free]):
            break
        theta = theta.copy()
        theta[free] -= step_taken
        if np.all(np.abs(step_taken) <= 1e-6 * theta[free]):
            break
    return theta


def _told(
    model: Likelihood,
    theta: Numbers,
    names: list[str],
    labels: list[list[object]],
    codes: list[Codes],
    fixed_names: list[str],
    units: tuple[float, float, int],
    intervals: bool,
    confidence: float,
) -> Components:
    """Return the fit in the caller's unit and labels."""
    centre, spread, left_out = units
    sums = model.sums
    logdet, rss = model.pieces(theta)
    residual = rss / model.df
    value = logdet + model.df * (1 + float(np.log(2 * np.pi * residual)))
    value += 2 * model.df * float(np.log(spread))
    values = np.append(theta**2, 1.0) * residual
    ends: list[tuple[tuple[float | None, float | None], tuple[float | None, float | None]]]
    if intervals:
        ends = profile_intervals(model, theta, confidence)
    else:
        ends = [((None, None), (None, None))] * len(values)
    ns = [*sums.levels, sums.n]
    variances, shares = {}, {}
    for name, found, n, (absolute, relative) in zip(
        [*names, RESIDUAL], values, ns, ends, strict=True
    ):
        low, high = (None if end is None else end * spread**2 for end in absolute)
        variances[name] = Estimate(float(found) * spread**2, low, high, n, confidence)
        shares[name] = Estimate(float(found / values.sum()), *relative, n, confidence)
    b, covariance, effects, spreads = model.solved(theta)
    z = float(ndtri(0.5 + confidence / 2))
    fixed = []
    for at, name in enumerate(fixed_names):
        error = float(np.sqrt(covariance[at, at] * residual)) * spread
        here = float(b[at]) * spread + (centre if at == 0 else 0.0)
        told = Estimate(here, here - z * error, here + z * error, sums.n, confidence)
        fixed.append(Fixed(name, told, error))
    out, start = {}, 0
    for name, level, code in zip(names, labels, codes, strict=True):
        rows = np.bincount(code, minlength=len(level))
        here_effects = effects[start : start + len(level)] * spread
        sds = np.sqrt(spreads[start : start + len(level)] * residual) * spread
        out[name] = tuple(map(Effect, level, here_effects.tolist(), sds.tolist(), rows.tolist()))
        start += len(level)
    zero = tuple(name for name, own in zip(names, theta, strict=True) if own == 0)
    return Components(
        variances, shares, tuple(fixed), out, value, -value / 2, model.reml, sums.n, left_out, zero
    )
