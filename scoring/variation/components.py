"""How much of a measured outcome's variation lies with whom and what: variance components.

Crossed or nested random intercepts (operator, scenario, their pairs, rater …) fitted by
restricted or full maximum likelihood, exactly, also when cells are missing. Own code,
because a general program takes longer by an order of magnitude and cannot be asked for the
intervals of shares.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from scipy.special import stdtrit  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.values_given import numbers_given, unmasked
from scoring.variation.component_intervals import profile_intervals
from scoring.variation.mixed_curvature import NO_SCATTER, best, curved
from scoring.variation.mixed_degrees import degrees_of_freedom, fixed_covariance
from scoring.variation.mixed_likelihood import Codes, Likelihood, Numbers, gather

RESIDUAL = "residual"
"""Name of the variance that no factor explains."""


@dataclass(frozen=True)
class Fixed:
    """One fixed effect.

    Attributes
    ----------
    name : str
        ``intercept`` or the caller's name.
    estimate : Estimate
        With the interval of Student's t at `df`.
    standard_error : float
        In the outcome's unit; given the components.
    df : float
        Satterthwaite's degrees of freedom: how well the standard error itself is known, so
        that few operators make a wide interval.
    """

    name: str
    estimate: Estimate
    standard_error: float
    df: float


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
class Solution:
    """The fitted model in its own units: likelihood, relative SDs, labels, scale."""

    model: Likelihood
    theta: Numbers
    names: tuple[str, ...]
    labels: list[list[object]]
    spread: float
    residual_sd: float


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
    solution : Solution
        What `effects` is made of.
    """

    variances: dict[str, Estimate]
    shares: dict[str, Estimate]
    fixed: tuple[Fixed, ...]
    criterion: float
    log_likelihood: float
    reml: bool
    n: int
    left_out: int
    at_zero: tuple[str, ...]
    solution: Solution = field(repr=False, compare=False)

    @cached_property
    def effects(self) -> dict[str, tuple[Effect, ...]]:
        """BLUPs of each factor, sorted by level; worked out when first asked for."""
        held = self.solution
        values, spreads = held.model.effects(held.theta)
        out, start = {}, 0
        for name, level, rows in zip(held.names, held.labels, held.model.rows(), strict=True):
            place = slice(start, start + len(level))
            sds = np.sqrt(spreads[place]) * held.residual_sd
            here = values[place] * held.spread
            out[name] = tuple(map(Effect, level, here.tolist(), sds.tolist(), rows.tolist()))
            start += len(level)
        return out


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
        Codes ``rows``, ``levels`` (a factor with one level, or with as many as rows, or two
        factors that always change together), ``variance`` (all values equal), ``residual``
        (the factors explain every value).

    Raises
    ------
    DataError
        Lengths differ; an infinite value; a missing label; fixed columns that say the same.
    ValueError
        No factor, or more than 4,000 levels outside the largest factor.
    """
    check_confidence(confidence)
    # A data frame has names and columns as a mapping has, but no truth and another length.
    factors = {name: unmasked(column) for name, column in factors.items()}
    fixed = dict(fixed.items()) if fixed is not None else None
    if not factors:
        raise ValueError("factors: wanted at least one")
    y = numbers_given(outcome, "outcome")
    if y.ndim != 1:
        raise DataError("outcome", f"{y.ndim} dimensions", "one row of values")
    ends = (float(y.min()), float(y.max())) if len(y) else (0.0, 0.0)
    whole = not np.isnan(ends).any()
    seen = np.ones(len(y), dtype=bool) if whole else ~np.isnan(y)
    left_out = 0 if whole else int(len(y) - seen.sum())
    if np.isinf(y[seen] if not whole else np.array(ends)).any():
        raise DataError("outcome", float(y[np.isinf(y)][0]), "finite numbers")
    for name, column in {**factors, **(fixed or {})}.items():
        if len(column) != len(y):
            raise DataError(name, len(column), f"{len(y)} values, one for each outcome")
    y = y if whole else y[seen]
    x, columns = None, 1 + len(fixed or {})
    if fixed:
        x = np.ones((len(y), columns))
        for at, (name, values) in enumerate(fixed.items(), start=1):
            x[:, at] = numbers_given(values, name)[seen]
            if not np.isfinite(x[:, at]).all():
                raise DataError(name, "a missing or infinite value", "finite numbers")
    if len(y) < columns + 2:
        return TooLittleEvidence(
            "rows", f"Only {counted(len(y), 'value')}; more are needed.", len(y)
        )
    if (ends[0] == ends[1]) if whole else np.ptp(y) == 0:
        said = f"All {len(y)} values are equal; there is no variation to divide."
        return TooLittleEvidence("variance", said, len(y))
    if x is not None and np.linalg.matrix_rank(x) < columns:
        raise DataError("fixed", "columns that say the same", "columns that differ")
    codes: list[Codes] = []
    labels: list[list[object]] = []
    for name, column in factors.items():
        code, level = _coded(name, column, None if whole else seen)
        if not 1 < len(level) < len(y):
            said = (
                f"Only one {name}; at least 2 are needed."
                if len(level) < 2
                else f"Each value has its own {name}; some need to be repeated."
            )
            return TooLittleEvidence("levels", said, len(level))
        codes.append(code)
        labels.append(level)
    centre = float(y.mean())
    y = y - centre
    spread = float(np.sqrt(y @ y / len(y)))
    model = Likelihood(gather(y, x, codes, [len(level) for level in labels], spread), reml=reml)
    same = model.same()
    if same is not None:
        one, other = (list(factors)[at] for at in same)
        said = f"{one} and {other} always change together; one of them has to be left out."
        return TooLittleEvidence("levels", said, len(labels[same[0]]))
    gamma = best(model)
    if gamma.max() > NO_SCATTER:
        said = f"All differences come from {' and '.join(factors)}; no other scatter is left."
        return TooLittleEvidence("residual", said, len(y))
    return _told(
        model, gamma, list(factors), labels, ["intercept", *(fixed or {})],
        (centre, spread, left_out), intervals, confidence,
    )  # fmt: skip


def _coded(
    name: str, column: Sequence[Any] | Codes, seen: np.ndarray[Any, Any] | None
) -> tuple[Codes, list[object]]:
    """Return codes of the levels that occur, and those levels sorted."""
    given: Any = getattr(column, "cat", column)
    values = np.asarray(given.codes if hasattr(given, "codes") else column)
    if values.ndim != 1:
        raise DataError(name, f"{values.ndim} dimensions", "one row of labels")
    names = list(given.categories) if hasattr(given, "codes") else None
    if seen is not None:
        values = values[seen]
    if values.dtype.kind in "iu":
        low, high = int(values.min()), int(values.max())
        if names is not None and low < 0:
            raise DataError(name, None, "a label for every value")
        if high - low < 4 * len(values) + 1000:
            shifted = values.astype(np.intp) - low if low else values.astype(np.intp, copy=False)
            met = np.zeros(high - low + 1, dtype=bool)
            met[shifted] = True
            there = np.flatnonzero(met)
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


def _told(
    model: Likelihood,
    gamma: Numbers,
    names: list[str],
    labels: list[list[object]],
    fixed_names: list[str],
    units: tuple[float, float, int],
    intervals: bool,
    confidence: float,
) -> Components:
    """Return the fit in the caller's unit and labels."""
    centre, spread, left_out = units
    sums = model.sums
    theta = np.sqrt(gamma)
    at_best = curved(model, gamma[None])
    residual = float(np.exp(at_best.log_rss[0])) / model.df
    value = float(at_best.logdet[0]) + model.df * (1 + float(np.log(2 * np.pi * residual)))
    value += 2 * model.df * float(np.log(spread))
    values = np.append(gamma, 1.0) * residual
    ends: list[tuple[tuple[float | None, float | None], tuple[float | None, float | None]]]
    if intervals:
        ends = profile_intervals(model, gamma, residual, confidence)
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
    b, covariance, slope = fixed_covariance(model, gamma)
    df = degrees_of_freedom(model, gamma, residual, np.diag(covariance), slope)
    fixed = []
    for at, name in enumerate(fixed_names):
        error = float(np.sqrt(covariance[at, at] * residual)) * spread
        here = float(b[at]) * spread + (centre if at == 0 else 0.0)
        reach = float(stdtrit(df[at], 0.5 + confidence / 2)) * error
        told = Estimate(here, here - reach, here + reach, sums.n, confidence)
        fixed.append(Fixed(name, told, error, float(df[at])))
    zero = tuple(name for name, own in zip(names, theta, strict=True) if own == 0)
    solution = Solution(
        model, theta, tuple(names), labels, spread, float(np.sqrt(residual)) * spread
    )
    return Components(
        variances, shares, tuple(fixed), value, -value / 2, model.reml, sums.n, left_out, zero,
        solution,
    )  # fmt: skip
