"""Components of balanced designs in closed form: any full crossing, and any nesting.

Every factor is random. A component is a sum and difference of mean squares, so that it equals
the restricted likelihood's where none comes out negative; intervals are closed too, and quick.
Method: Searle SR, Casella G, McCulloch CE, Variance Components, 1992, ch. 4; approximate F by
Satterthwaite FE (1946), Biometrics Bulletin 2:110-114; from memory, checked against REML.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.values_given import numbers_given
from scoring.variation.balanced import Source
from scoring.variation.mean_square_intervals import mean_square_limits
from scoring.variation.mixed_likelihood import Numbers

RESIDUAL = "residual"
"""Name of the last line."""
ROUNDING = 1e-13
"""Share of the whole sum of squares below which one is rounding. A working judgement: double
numbers carry 16 digits and a few are lost in adding."""


@dataclass(frozen=True)
class BalancedComponents:
    """A table of variance and its components.

    Attributes
    ----------
    lines : dict of str to Source
        Table of variance by name: factors, their crossings (``operator:scenario``), ``residual``.
        F is exact where one line is the error; else approximate (sums of lines above and below
        the bar, Satterthwaite's degrees of freedom).
    variances : dict of str to Estimate
        Components, negative ones set to 0, with modified large sample intervals (ends below 0
        set to 0); the residual's is exact. n: levels of the factor, or the values.
    raw : dict of str to float
        Components as they came out, also below 0.
    n : int
        Values.
    """

    lines: dict[str, Source]
    variances: dict[str, Estimate]
    raw: dict[str, float]
    n: int


def crossed_components(
    cells: ArrayLike, names: Sequence[str], *, confidence: float = CONFIDENCE
) -> BalancedComponents | TooLittleEvidence:
    """Return the components of a full crossing of two factors or more.

    Parameters
    ----------
    cells : array_like
        One axis for each factor and, with repeats, one more for these. Without repeats the
        crossing of all factors is the residual.
    names : sequence of str
        Names of the factors, in the order of the axes.
    confidence : float
        Confidence of the intervals.

    Raises
    ------
    DataError
        Another shape, or a missing or infinite value.
    """
    check_confidence(confidence)
    y = _checked(cells, names)
    if isinstance(y, TooLittleEvidence):
        return y
    k = len(names)
    repeated = y.ndim == k + 1
    repeats = y.shape[k] if repeated else 1
    mean = y.mean(axis=k) if repeated else y
    sizes = mean.shape
    every = [s for size in range(1, k + 1) for s in combinations(range(k), size)]
    squares: dict[tuple[int, ...], tuple[float, int]] = {}
    parts: dict[tuple[int, ...], Numbers] = {(): np.asarray(mean.mean(keepdims=True))}
    for chosen in every:
        others = tuple(axis for axis in range(k) if axis not in chosen)
        effect = mean.mean(axis=others, keepdims=True) if others else mean
        for size in range(len(chosen)):
            for inner in combinations(chosen, size):
                effect = effect - parts[inner]
        parts[chosen] = effect
        ss = float((effect**2).sum()) * repeats * prod(sizes[axis] for axis in others)
        squares[chosen] = (ss, prod(sizes[axis] - 1 for axis in chosen))
    full = tuple(range(k))
    named = {chosen: ":".join(names[axis] for axis in chosen) for chosen in every}
    table = {named[chosen]: squares[chosen] for chosen in every}
    if repeated:
        within = float(((y - mean[..., None]) ** 2).sum())
        table[RESIDUAL] = (within, mean.size * (repeats - 1))
    else:
        table[RESIDUAL] = table.pop(named[full])
        named[full] = RESIDUAL
    weights: dict[str, dict[str, float]] = {}
    for chosen in every:
        if chosen == full:
            if repeated:
                weights[named[full]] = {named[full]: 1 / repeats, RESIDUAL: -1 / repeats}
            continue
        share = 1 / (repeats * prod(sizes[axis] for axis in full if axis not in chosen))
        weights[named[chosen]] = {
            named[other]: share * (-1) ** (len(other) - len(chosen))
            for other in every
            if set(chosen) <= set(other)
        }
    counts = {named[c]: prod(sizes[axis] for axis in c) for c in every}
    return _solved(table, weights, counts, y.size, confidence)


def nested_components(
    cells: ArrayLike, names: Sequence[str], *, confidence: float = CONFIDENCE
) -> BalancedComponents | TooLittleEvidence:
    """Return the components of factors nested one in another, and of repeats in the last.

    Parameters
    ----------
    cells : array_like
        One axis for each factor from the outermost in, and one for the repeats: casks within
        batches with two assays each are ``(batches, casks, 2)``. One factor is the one-way design.
    names : sequence of str
        Names of the factors, outermost first.
    confidence : float
        Confidence of the intervals.

    Raises
    ------
    DataError
        Another shape, or a missing or infinite value.
    """
    check_confidence(confidence)
    y = _checked(cells, names, nested=True)
    if isinstance(y, TooLittleEvidence):
        return y
    table: dict[str, tuple[float, int]] = {}
    above = np.asarray(y.mean(keepdims=True))
    lines = [*names, RESIDUAL]
    for level, name in enumerate(lines, start=1):
        inner = tuple(range(level, y.ndim))
        here = y.mean(axis=inner, keepdims=True) if inner else y
        ss = float(((here - above) ** 2).sum()) * y.size / here.size
        table[name] = (ss, here.size - above.size)
        above = here
    weights = {
        name: {
            name: 1 / prod(y.shape[level:]),
            lines[level]: -1 / prod(y.shape[level:]),
        }
        for level, name in enumerate(names, start=1)
    }
    counts = {name: prod(y.shape[:level]) for level, name in enumerate(names, start=1)}
    return _solved(table, weights, counts, y.size, confidence)


def _checked(
    cells: ArrayLike, names: Sequence[str], *, nested: bool = False
) -> Numbers | TooLittleEvidence:
    """Return the cells about their mean, or what is missing."""
    y = numbers_given(cells, "cells")
    if any(not isinstance(name, str) for name in names):
        raise DataError("names", list(names), "a word for each axis")
    k = len(names)
    wanted = (k + 1,) if nested else (k, k + 1)
    if y.ndim not in wanted or k < (1 if nested else 2):
        raise DataError("cells", y.shape, f"{' or '.join(map(str, wanted))} axes for {k} names")
    if len(set(names)) < k or RESIDUAL in names:
        raise DataError("names", list(names), f"names that differ, none of them {RESIDUAL!r}")
    if not np.isfinite(y).all():
        raise DataError("cells", "a missing or infinite value", "finite numbers")
    for name, size in zip([*names, "repeat"], y.shape, strict=False):
        if size < 2:
            said = f"Only {size} of {name}; at least 2 are needed."
            return TooLittleEvidence("levels", said, size)
    y = y - y.flat[0]
    about: Numbers = y - y.mean()
    return about


def _solved(
    table: dict[str, tuple[float, int]],
    weights: dict[str, dict[str, float]],
    counts: dict[str, int],
    n: int,
    confidence: float,
) -> BalancedComponents | TooLittleEvidence:
    """Return tests, components and intervals from sums of squares and what each component is."""
    whole = sum(ss for ss, _ in table.values())
    if table[RESIDUAL][0] <= ROUNDING * whole or whole == 0:
        return TooLittleEvidence("variance", "Repeated values do not differ at all.", n)
    ms = {name: ss / df for name, (ss, df) in table.items()}
    lines: dict[str, Source] = {}
    raw: dict[str, float] = {}
    variances: dict[str, Estimate] = {}
    for name, (ss, df) in table.items():
        if name == RESIDUAL:
            lines[name] = Source(name, ss, df, ms[name])
            parts = {name: 1.0}
        else:
            parts = weights[name]
            up, up_df = _together({k: w for k, w in parts.items() if w > 0}, ms, table)
            down, down_df = _together({k: -w for k, w in parts.items() if w < 0}, ms, table)
            f = up / down if down > 0 else np.inf
            lines[name] = Source(name, ss, df, ms[name], f, float(fdtrc(up_df, down_df, f)))
        raw[name] = sum(weight * ms[line] for line, weight in parts.items())
        low, high = mean_square_limits(
            list(parts.values()), [ms[k] for k in parts], [table[k][1] for k in parts], confidence
        )
        value = max(0.0, raw[name])
        variances[name] = Estimate(
            value, max(0.0, low), max(value, high), counts.get(name, n), confidence
        )
    return BalancedComponents(lines, variances, raw, n)


def _together(
    weights: dict[str, float], ms: dict[str, float], table: dict[str, tuple[float, int]]
) -> tuple[float, float]:
    """Return a weighted sum of mean squares and Satterthwaite's degrees of freedom."""
    terms = [(weight * ms[name], table[name][1]) for name, weight in weights.items()]
    total = sum(term for term, _ in terms)
    if total == 0:
        return 0.0, float(terms[0][1])
    return total, total**2 / sum(term**2 / df for term, df in terms)
