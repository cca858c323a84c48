"""How much operators differ in telling soiled from clean, and each one's own figure, shrunken.

Raw d' of few places scatter widely even where all operators are alike. One model
of all operators tells that scatter from true differences, and draws each
operator's figure towards the mean as far as the evidence for it is thin.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt, tanh

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq, minimize  # type: ignore[import-untyped]
from scipy.stats import f as f_distribution  # type: ignore[import-untyped]
from scipy.stats import t as t_distribution

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.values_given import unmasked
from scoring.variation.detection_likelihood import posterior
from scoring.variation.signal_detection import NORMAL, SignalDetection, count_of, signal_detection

Floats = NDArray[np.float64]

LEAST_OPERATORS = 5
"""Fewer operators than this give no figure of their spread. A working judgement, no source."""

LEAST_SD, MOST_SD = 0.01, 5.0
"""Range of the standard deviations between operators. Below 0.01 the likelihood is flat, and the
estimate is given as 0; a d' ranges over about 0 to 5 in all. A working judgement."""

MOST_ATANH = 3.0
"""Range of Fisher's z of the correlation: +-0.995, beyond which the likelihood is flat."""

SPREADS, REACH = 8, 2.0
"""Points of the grid over a spread, and how far it goes: to twice the larger of the estimate and
the raw spread, which holds chance beside the true one. A working judgement, held by the
coverage that the tests find."""

Edge = tuple[float, float]
BOUNDS: tuple[Edge, ...] = (
    (-8.0, 8.0),
    (-8.0, 8.0),
    (log(LEAST_SD), log(MOST_SD)),
    (log(LEAST_SD), log(MOST_SD)),
    (-MOST_ATANH, MOST_ATANH),
)


@dataclass(frozen=True, slots=True)
class OperatorDetection:
    """One operator within all.

    Attributes
    ----------
    operator : hashable
        Which.
    raw : SignalDetection or TooLittleEvidence
        From this operator's answers alone.
    d_prime, criterion : Estimate
        Drawn towards the mean of all operators (mean of the posterior); n is the operator's
        places.
    """

    operator: Hashable
    raw: SignalDetection | TooLittleEvidence
    d_prime: Estimate
    criterion: Estimate


@dataclass(frozen=True, slots=True)
class DetectionBetween:
    """Sensitivity and criterion of operators as one population.

    Attributes
    ----------
    d_prime_mean, criterion_mean : Estimate
        Of the operators' own d' and c; n is operators.
    d_prime_sd, criterion_sd : Estimate
        True spread between operators. 0 where the data show none; `low` is then 0 too.
    correlation : Estimate or TooLittleEvidence
        Between d' and c of operators; too little where one of the spreads is 0.
    raw_d_prime_sd, raw_criterion_sd : float
        Spread of the raw figures, which holds chance too; beside the true one.
    operators : tuple of OperatorDetection
        In the order given.
    log_likelihood : float
        At the estimates, without the binomial coefficients.
    """

    d_prime_mean: Estimate
    criterion_mean: Estimate
    d_prime_sd: Estimate
    criterion_sd: Estimate
    correlation: Estimate | TooLittleEvidence
    raw_d_prime_sd: float
    raw_criterion_sd: float
    operators: tuple[OperatorDetection, ...]
    log_likelihood: float


def detection_between(
    hits: ArrayLike,
    misses: ArrayLike,
    false_alarms: ArrayLike,
    correct_rejections: ArrayLike,
    operators: Sequence[Hashable] | None = None,
    *,
    confidence: float = CONFIDENCE,
    spread_intervals: bool = True,
) -> DetectionBetween | TooLittleEvidence:
    """Fit a probit mixed model with each operator's own d' and criterion.

    Parameters
    ----------
    hits, misses, false_alarms, correct_rejections : array-like, shape (operators,)
        Counts of each operator, all scenarios together. An operator without soiled (or without
        clean) places still counts for the other.
    operators : sequence, optional
        Codes, each once; otherwise 0, 1, 2, ….
    confidence : float
        Between 0 and 1.
    spread_intervals : bool
        Whether spreads and correlation get intervals; without them it is several times quicker,
        and their `low` and `high` are None.

    Returns
    -------
    DetectionBetween or TooLittleEvidence
        Too little with fewer than five operators who saw a place, or if one of the four
        answers was never given: d' is then without an end.

    Raises
    ------
    DataError
        Lengths differ, a count is none, an operator stands twice.

    Notes
    -----
    hits ~ binomial(Phi(d/2 - c)), false alarms ~ binomial(Phi(-d/2 - c)), (d, c) normal with two
    standard deviations and a correlation; maximum likelihood by adaptive Gauss-Hermite
    quadrature (5 x 5 nodes). Intervals: of means t with operators - 1 degrees of freedom; of
    spreads and correlation by profile likelihood against F(1, operators - 1); of an operator
    from the posterior, averaged over what the spreads may be (a grid of 8 x 8, all values alike
    beforehand) and widened for the uncertainty of the means. In simulations 95 % intervals of
    an operator cover in 94 to 95 % (100 departments of 30 operators with 50 places each) and in
    93 to 95 % (150 of 12 with 30 places); those of the means in 95 to 99 %. Intervals of spreads
    and correlation were tried on 33 departments of 20 only (94 %); with few operators and
    places they are wider than promised.
    """
    check_confidence(confidence)
    columns = [
        _counts(name, column)
        for name, column in (
            ("hits", hits),
            ("misses", misses),
            ("false_alarms", false_alarms),
            ("correct_rejections", correct_rejections),
        )
    ]
    lengths = {len(column) for column in columns}
    codes = tuple(operators) if operators is not None else tuple(range(len(columns[0])))
    if lengths != {len(codes)}:
        raise DataError("lengths", sorted(lengths | {len(codes)}), "one count for each operator")
    if len(set(codes)) != len(codes):
        twice = next(code for code in codes if codes.count(code) > 1)
        raise DataError("operators", twice, "each operator once, with the sum of the answers")
    counts = np.array(columns, dtype=np.float64).T
    seen = int((counts.sum(axis=1) > 0).sum())
    if seen < LEAST_OPERATORS:
        return TooLittleEvidence(
            "operators",
            f"Only {counted(seen, 'operator')}; at least {LEAST_OPERATORS} are needed.",
            seen,
        )
    never = (
        "found a soiled place",
        "missed a soiled place",
        "called a clean place soiled",
        "called a clean place clean",
    )
    for what, total in zip(never, counts.sum(axis=0), strict=True):
        if total == 0:
            return TooLittleEvidence("spread", f"No operator {what}, so d' has no end.", seen)
    return _fit(counts, codes, seen, confidence, spread_intervals)


def _counts(name: str, column: ArrayLike) -> list[int]:
    held = np.asarray(unmasked(column), dtype=object)
    if held.ndim != 1:
        raise DataError(name, f"{held.ndim} dimensions", "one count for each operator")
    return [count_of(f"{name}, operator {place}", value) for place, value in enumerate(held)]


def _fit(
    counts: Floats, codes: tuple[Hashable, ...], n: int, confidence: float, spread_intervals: bool
) -> DetectionBetween:
    corrected = counts + 0.5
    rates = corrected[:, [0, 2]] / (corrected[:, [0, 2]] + corrected[:, [1, 3]])
    pulled = np.array([[NORMAL.inv_cdf(rate) for rate in row] for row in rates])
    raw_d, raw_c = pulled[:, 0] - pulled[:, 1], -pulled.sum(axis=1) / 2
    # Half the raw spread: chance alone makes up a good part of it.
    start = np.array(
        [
            raw_d.mean(),
            raw_c.mean(),
            log(max(0.1, raw_d.std() / 2)),
            log(max(0.1, raw_c.std() / 2)),
            0.0,
        ]
    )
    best, top = _maximise(counts, start, {})
    at = posterior(best, counts)
    precision = at.precision
    information = (precision - precision @ at.covariance @ precision).sum(axis=0)
    # Maximum likelihood finds the spread too small by (n - 1)/n, as a variance over n does.
    of_means = np.linalg.inv(information) * n / (n - 1)
    quantile = float(t_distribution.ppf(0.5 + confidence / 2, n - 1))
    means = [
        _around(float(best[place]), quantile * sqrt(of_means[place, place]), n, confidence)
        for place in (0, 1)
    ]
    drop = float(f_distribution.ppf(confidence, 1, n - 1)) if spread_intervals else None
    spreads = [_spread(counts, best, top, 2 + place, drop, n, confidence) for place in (0, 1)]
    pulled_to, variance = _averaged(counts, best, top, of_means, (raw_d.std(), raw_c.std()))
    wide = quantile * np.sqrt(variance)
    places = counts.sum(axis=1)
    found = tuple(
        OperatorDetection(
            code,
            signal_detection(*(int(count) for count in counts[row]), confidence=confidence),
            _around(float(pulled_to[row, 0]), float(wide[row, 0]), int(places[row]), confidence),
            _around(float(pulled_to[row, 1]), float(wide[row, 1]), int(places[row]), confidence),
        )
        for row, code in enumerate(codes)
    )
    return DetectionBetween(
        means[0],
        means[1],
        spreads[0],
        spreads[1],
        _correlation(counts, best, top, drop, n, confidence),
        float(raw_d.std(ddof=1)),
        float(raw_c.std(ddof=1)),
        found,
        top,
    )


def _averaged(
    counts: Floats, best: Floats, top: float, of_means: Floats, raw: tuple[float, float]
) -> tuple[Floats, Floats]:
    """Return mean and variance of each operator's (d, c), averaged over what the spreads may be.

    With few operators the most likely spread is often far too small, or 0, and every
    operator would be told to be the mean.
    """
    mean, square, total = np.zeros((len(counts), 2)), np.zeros((len(counts), 2)), 0.0
    sides = [
        np.linspace(REACH / SPREADS / 2, REACH - REACH / SPREADS / 2, SPREADS)
        * min(MOST_SD / REACH, max(0.1, exp(best[2 + place]), raw[place]))
        for place in (0, 1)
    ]
    for one in sides[0]:
        for other in sides[1]:
            at = posterior(np.array([best[0], best[1], log(one), log(other), best[4]]), counts)
            weight = exp(at.log_likelihood - top)
            carried = at.covariance @ at.precision
            variance = at.covariance + carried @ of_means @ np.swapaxes(carried, 1, 2)
            mean += weight * at.mean
            square += weight * (np.diagonal(variance, axis1=1, axis2=2) + at.mean**2)
            total += weight
    mean /= total
    return mean, square / total - mean**2


def _spread(
    counts: Floats,
    best: Floats,
    top: float,
    place: int,
    drop: float | None,
    n: int,
    confidence: float,
) -> Estimate:
    value, floor = exp(best[place]), LEAST_SD * 1.01
    if drop is None:
        return Estimate(0.0 if value < floor else value, None, None, n, confidence)
    low = _end(counts, best, top, place, BOUNDS[place][0], drop)
    high = _end(counts, best, top, place, BOUNDS[place][1], drop)
    return Estimate(
        0.0 if value < floor else value,
        0.0 if low is None or exp(low) < floor else exp(low),
        MOST_SD if high is None else exp(high),
        n,
        confidence,
    )


def _correlation(
    counts: Floats, best: Floats, top: float, drop: float | None, n: int, confidence: float
) -> Estimate | TooLittleEvidence:
    if min(exp(best[2]), exp(best[3])) < LEAST_SD * 1.01:
        return TooLittleEvidence(
            "variation", "Operators do not differ in one of the two, so they cannot go together.", n
        )
    if drop is None:
        return Estimate(tanh(best[4]), None, None, n, confidence)
    low = _end(counts, best, top, 4, -MOST_ATANH, drop)
    high = _end(counts, best, top, 4, MOST_ATANH, drop)
    value = tanh(best[4])
    return Estimate(
        value,
        -1.0 if low is None else tanh(low),
        1.0 if high is None else tanh(high),
        n,
        confidence,
    )


def _end(
    counts: Floats, best: Floats, top: float, place: int, edge: float, drop: float
) -> float | None:
    """Return where the profile of twice the log-likelihood has fallen by `drop`, or None."""
    start = best

    def over(value: float) -> float:
        nonlocal start
        if value == best[place]:
            return -drop
        start, height = _maximise(counts, start, {place: value})
        return 2 * (top - height) - drop

    if abs(best[place] - edge) < 1e-9 or over(edge) < 0:
        return None
    return float(brentq(over, float(best[place]), edge, xtol=2e-3))


def _maximise(counts: Floats, start: Floats, held: dict[int, float]) -> tuple[Floats, float]:
    """Return the best parameters and their log-likelihood, with some of them held."""
    whole = start.copy()
    for place, value in held.items():
        whole[place] = value
    free = [place for place in range(len(start)) if place not in held]

    def objective(values: Floats) -> tuple[float, Floats]:
        whole[free] = values
        found = posterior(whole, counts)
        return -found.log_likelihood, -found.gradient[free]

    ran = minimize(
        objective,
        np.clip(whole[free], [BOUNDS[p][0] for p in free], [BOUNDS[p][1] for p in free]),
        jac=True,
        method="L-BFGS-B",
        bounds=[BOUNDS[place] for place in free],
        options={"ftol": 1e-9, "gtol": 1e-3},
    )
    whole[free] = ran.x
    return whole, float(-ran.fun)


def _around(value: float, wide: float, n: int, confidence: float) -> Estimate:
    return Estimate(value, value - wide, value + wide, n, confidence)
