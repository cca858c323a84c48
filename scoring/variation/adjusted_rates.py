"""Each operator's rate, adjusted for the scenarios met and for chance, against a limit.

A raw rate of few answers is mostly luck, and luck looks like skill or the lack of it. Here each
operator's rate is drawn towards that of all in the measure that their own answers are
few (shrinkage), and a person is flagged only where the evidence bears it, with the
share of false flags held to what is promised.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import expit, logit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, check_confidence
from scoring.variation.binomial import BinomialFit, place_of
from scoring.variation.binomial_intervals import no_difference
from scoring.variation.laplace import Vector
from scoring.variation.operator_posterior import LogitPosterior, logit_posterior

FALSE_DISCOVERY = 0.05
"""Promised share of flags that are wrong, on average. The usual convention; common practice, no
source."""

LEAST_ANSWERS = 5
"""Fewer own answers than this never flag a person and never clear one: nearly all that is known
then comes from other people. A working judgement, no source."""

LEAST_EXCEEDS = 0.8
"""Nobody is flagged whose own probability of exceeding the limit is below this, however sure the
other flags are: the share of wrong flags is a promise about all, and this one is about each. A
working judgement, no source."""

NOTABLE_ODDS = 2.0
"""An operator whose interval still reaches double the odds of the limit is "too little
evidence": a rate clearly above the limit cannot be excluded. A working judgement, no source."""

NODES, WEIGHTS = hermegauss(41)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
LADDER = np.linspace(-40.0, 40.0, 321)
NODES.flags.writeable = LADDER.flags.writeable = WEIGHTS.flags.writeable = False


class Verdict(StrEnum):
    """What may be said of one operator against the limit."""

    WORSE = "worse_than_limit"
    NOT_SHOWN = "not_shown_worse"
    TOO_LITTLE = "too_little_evidence"


@dataclass(frozen=True, slots=True)
class AdjustedRate:
    """One operator's rate.

    Attributes
    ----------
    operator : str
        Code.
    rate : float
        Adjusted (shrunken) rate, the posterior mean, 0 to 1.
    low, high : float
        Its interval.
    raw : float
        Events of the answers, without any adjustment, 0 to 1.
    events, answers : int
        What the raw rate is made of.
    own_weight : float
        How much of the estimate is the operator's own answers (the rest is borrowed from all),
        0 to 1.
    exceeds : float or None
        Probability that the true rate is above the limit; None without a limit.
    verdict : Verdict or None
        None without a limit.
    """

    operator: str
    rate: float
    low: float
    high: float
    raw: float
    events: int
    answers: int
    own_weight: float
    exceeds: float | None
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class OperatorRates:
    """All operators' rates.

    Attributes
    ----------
    operators : tuple of AdjustedRate
        Sorted by code, never by result.
    average : float
        Rate of an operator in the middle of the population, 0 to 1.
    limit : float or None
        The department's limit, 0 to 1.
    confidence : float
        Of each interval.
    false_discovery : float
        Promised share of flags that are wrong.
    expected_false : float
        Expected share of wrong flags among those made, from the posterior; 0 without flags.
    """

    operators: tuple[AdjustedRate, ...]
    average: float
    limit: float | None
    confidence: float
    false_discovery: float
    expected_false: float


def adjusted_rates(
    fit: BinomialFit,
    limit: float | None = None,
    *,
    group: str = "operator",
    rate: Literal["failure", "success"] = "failure",
    over: Literal["population", "average"] = "population",
    at: Mapping[str, float] | None = None,
    confidence: float = CONFIDENCE,
    false_discovery: float = FALSE_DISCOVERY,
    least_answers: int = LEAST_ANSWERS,
    least_exceeds: float = LEAST_EXCEEDS,
    notable_odds: float = NOTABLE_ODDS,
) -> OperatorRates:
    """Return each operator's adjusted rate, interval, and verdict against a limit.

    Parameters
    ----------
    fit : BinomialFit
    limit : float, optional
        Highest rate that the department bears, between 0 and 1.
    group : str
        Which grouping factor is the people.
    rate : {"failure", "success"}
        Which rate is meant, and bad when high: that of what the fit did not count as success,
        or of what it did (where it counted errors).
    over : {"population", "average"}
        ``population`` averages the rate over scenarios (and further groups) like those of the
        fit, so that it compares with a raw rate; ``average`` is the rate at a scenario of
        average difficulty, which is further from one half.
    at : mapping of str to float, optional
        Values of the fixed columns by name; those not named stand at their mean over answers.
    confidence : float
        Of each interval, between 0 and 1, both excluded.
    false_discovery : float
        Promised share of flags that are wrong, between 0 and 1.
    least_answers : int
        Own answers below which the verdict is always "too little evidence".
    least_exceeds : float
        Probability of exceeding the limit below which nobody is flagged, 0 to 1.
    notable_odds : float
        Multiple of the limit's odds that must be excluded before "not shown to be worse".

    Returns
    -------
    OperatorRates

    Raises
    ------
    ValueError
        A parameter outside its range, or a name that the fit does not have.

    Notes
    -----
    On the logit scale an operator's posterior is a mixture of normals: conditional mode and
    variance, with the variance that uncertain fixed effects and spreads add (Kass RE, Steffey D
    (1989), J Am Stat Assoc 84:717-726, from memory), averaged over spreads that few levels leave
    uncertain, see :mod:`scoring.variation.operator_posterior`. Averaged over operators, 95 %
    intervals covered 94 to 97 % of true rates in simulations of 15 to 100 operators (99 % where
    nobody differs); for one operator at the far end of the population they cover less, as all
    shrinkage does.

    Flags: operators are taken in order of the probability of not exceeding the limit, as many
    as keep its mean at or below `false_discovery` (Newton MA et al. (2004), Biostatistics
    5:155-176; Mueller P et al. (2004), J Am Stat Assoc 99:990-1001, from memory). That promise
    holds on average over departments. So that it also holds where nobody differs and nobody
    is worse, there are no flags at all unless the operators are shown to differ (likelihood
    ratio) or the middle of the population is above the limit, each at half of `false_discovery`.
    """
    check_confidence(confidence)
    _check(fit, limit, group, at, false_discovery, notable_odds)
    sign = 1.0 if rate == "success" else -1.0
    row = row_at(fit, at)
    posterior = logit_posterior(fit, group, row)
    scatter = posterior.scatter if over == "population" else np.zeros(len(posterior.weights))
    centre, own = sign * posterior.means, posterior.own
    estimate = posterior.weights @ averaged(centre, scatter[:, None] + posterior.sds**2)
    low, high = _ends(posterior, centre, scatter, confidence)
    cells, place = fit.problem.gathered.cells, place_of(group, fit.groups)
    levels = len(fit.levels[group])
    answers = np.bincount(cells.index[place], cells.trials, levels)
    events = np.bincount(cells.index[place], cells.successes, levels)
    events = events if rate == "success" else answers - events
    exceeds: list[float | None] = [None] * levels
    verdicts: list[Verdict | None] = [None] * levels
    expected = 0.0
    if limit is not None:
        threshold = _centre_at(np.full(len(scatter), limit), scatter)
        above = posterior.weights @ norm.sf((threshold[:, None] - centre) / posterior.sds)
        typical = float(
            posterior.weights
            @ norm.sf((threshold - sign * posterior.middle) / posterior.middle_sds)
        )
        flags = np.zeros(levels, dtype=bool)
        if (
            typical >= 1.0 - false_discovery / 2.0
            or no_difference(fit, group).p_value <= false_discovery / 2.0
        ):
            judged = (answers >= least_answers) & (above >= least_exceeds)
            flags[judged] = flagged(above[judged], false_discovery)
        expected = float(np.mean(1.0 - above[flags])) if flags.any() else 0.0
        odds = notable_odds * limit / (1.0 - limit)
        open_end = (high >= odds / (1.0 + odds)) | (answers < least_answers)
        exceeds = [float(p) for p in above]
        verdicts = [
            Verdict.WORSE if flag else Verdict.TOO_LITTLE if unsure else Verdict.NOT_SHOWN
            for flag, unsure in zip(flags, open_end, strict=True)
        ]
    people = tuple(
        AdjustedRate(
            operator=code,
            rate=float(estimate[k]),
            low=float(low[k]),
            high=float(high[k]),
            raw=float(events[k] / answers[k]),
            events=int(events[k]),
            answers=int(answers[k]),
            own_weight=float(own[k]),
            exceeds=exceeds[k],
            verdict=verdicts[k],
        )
        for k, code in enumerate(fit.levels[group])
    )
    scattered = sum(sd**2 for name, sd in fit.sds.items() if name != group)
    middle = np.array(sign * float(row @ fit.coefficients))
    average = averaged(middle, scattered if over == "population" else 0.0)
    return OperatorRates(people, float(average), limit, confidence, false_discovery, expected)


def flagged(exceeds: Vector, false_discovery: float = FALSE_DISCOVERY) -> np.ndarray:
    """Return which operators are flagged, with the expected share of wrong flags held.

    Parameters
    ----------
    exceeds : array_like, shape (operators,)
        Posterior probability of each that the limit is exceeded.
    false_discovery : float
        Largest mean of ``1 - exceeds`` over those flagged, between 0 and 1.

    Returns
    -------
    ndarray of bool, shape (operators,)
        Operators of equal probability are flagged together or not at all.
    """
    wrong = 1.0 - np.asarray(exceeds, dtype=float)
    order = np.sort(wrong)
    means = np.cumsum(order) / np.arange(1, len(order) + 1)
    kept = np.flatnonzero(means <= false_discovery)
    if not kept.size:
        return np.zeros(len(wrong), dtype=bool)
    count = int(kept[-1]) + 1
    last = order[count - 1]
    if count < len(order) and order[count] == last:
        return np.asarray(wrong < last)
    return np.asarray(wrong <= last)


def _check(
    fit: BinomialFit,
    limit: float | None,
    group: str,
    at: Mapping[str, float] | None,
    false_discovery: float,
    notable_odds: float,
) -> None:
    if group not in fit.groups:
        raise ValueError(f"group {group!r}: wanted one of {fit.groups}")
    if limit is not None and not 0 < limit < 1:
        raise ValueError(f"limit {limit!r}: wanted a rate between 0 and 1")
    if not 0 < false_discovery < 1:
        raise ValueError(f"false_discovery {false_discovery!r}: wanted a number between 0 and 1")
    if not notable_odds > 1:
        raise ValueError(f"notable_odds {notable_odds!r}: wanted a number above 1")
    unknown = set(at or ()) - set(fit.names)
    if unknown:
        raise ValueError(f"at {sorted(unknown)}: wanted names out of {fit.names}")


def row_at(fit: BinomialFit, at: Mapping[str, float] | None) -> Vector:
    """Return the row of the design at which rates are given."""
    cells = fit.problem.gathered.cells
    row = (cells.trials @ cells.design) / cells.trials.sum()
    for name, value in (at or {}).items():
        row[fit.names.index(name)] = value
    return np.asarray(row)


def averaged(centre: Vector, variance: Vector | float) -> Vector:
    """Return the mean of the inverse logit over a normal distribution about each centre."""
    spread = np.sqrt(np.broadcast_to(variance, np.shape(centre)))
    return np.asarray(expit(centre[..., None] + spread[..., None] * NODES) @ WEIGHTS)


def _centre_at(rate: Vector, scatter: Vector) -> Vector:
    """Return the centres whose averaged rate is `rate`, one a node: by bisection."""
    start = logit(rate)
    # Averaging moves a rate towards one half, by less than the probit approximation doubled.
    reach = (1.0 + np.abs(start)) * (1.0 + scatter)
    low, high = start - reach, start + reach
    for _ in range(60):
        middle = (low + high) / 2.0
        below = averaged(middle, scatter) < rate
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2.0)


def _ends(
    posterior: LogitPosterior, centre: Vector, scatter: Vector, confidence: float
) -> tuple[Vector, Vector]:
    """Return the quantiles of each operator's rate, by bisection on the rate."""
    # Rates seen on each node's scale: a table of centres for rates, read by interpolation.
    rates = expit(np.linspace(-14.0, 14.0, 561))
    table = np.array([np.interp(rates, averaged(LADDER, s), LADDER) for s in scatter])
    people = centre.shape[1]
    ends = []
    for tail in ((1.0 - confidence) / 2.0, (1.0 + confidence) / 2.0):
        low, high = np.zeros(people), np.full(people, len(rates) - 1.0)
        for _ in range(40):
            middle = (low + high) / 2.0
            whole = np.minimum(middle.astype(np.int64), len(rates) - 2)
            part = middle - whole
            at = table[:, whole] * (1.0 - part) + table[:, whole + 1] * part
            below = posterior.weights @ norm.cdf((at - centre) / posterior.sds) < tail
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        ends.append(expit(-14.0 + 28.0 * low / (len(rates) - 1)))
    return ends[0], ends[1]
