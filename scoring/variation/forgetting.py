"""How success falls with the months since the last practice, and when competence should expire.

A date of expiry set by habit is either too late for the patient or too early for the staff.
The curve says how long the expected rate stays above the wanted one, and says so where the data
cannot tell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import logit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.laplace import Vector
from scoring.variation.learning import rates, total_change
from scoring.variation.saturating import Curve, Shape, column, fit_curve, quantiles

MOST_OPERATORS = 0.9
"""Share of operators whose expected rate must stay above the wanted one in the stricter
proposal. A working judgement, no source."""


class Limit(StrEnum):
    """What ends the proposed interval."""

    RATE = "wanted_rate"
    SITE = "site_expiry"
    DATA = "reach_of_data"
    BELOW = "below_at_once"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class Expiry:
    """A proposed interval between assessments.

    Attributes
    ----------
    share : float or None
        Share of operators meant to stay above the wanted rate; None for the average operator.
    months : Estimate or None
        Longest interval, with what the data leave open, neither longer than the site's expiry
        nor than the data reach; None where the data cannot tell. n: answers.
    careful : float or None
        The lower end of `months`: what a careful site would take.
    limit : Limit
        What ends it.
    said : str
        The same as a sentence.
    """

    share: float | None
    months: Estimate | None
    careful: float | None
    limit: Limit
    said: str


@dataclass(frozen=True, slots=True)
class ForgettingCurve:
    """A forgetting curve of the average operator.

    Attributes
    ----------
    change : Estimate
        Logit at the longest time away in the data minus logit at none: below 0 where
        people forget. n: answers.
    forgetting : bool
        Whether the interval of `change` lies below 0.
    fresh, at_reach : Estimate
        Success rate at 0 months and at the longest time away in the data, of the average
        operator at a scenario of average difficulty.
    average, most : Expiry
        For the average operator, and for `share` of operators.
    reach : float
        Longest time away in the data, months.
    curve : Curve
        What was fitted.
    """

    change: Estimate
    forgetting: bool
    fresh: Estimate
    at_reach: Estimate
    average: Expiry
    most: Expiry
    reach: float
    curve: Curve

    def rate(self, months: npt.ArrayLike) -> list[Estimate]:
        """Return the average operator's success rate after each number of months."""
        return rates(self.curve, months, self.change.confidence)


def forgetting_curve(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None = None,
    *,
    months: npt.ArrayLike,
    operators: Sequence[Any],
    wanted: float,
    expiry_months: float,
    scenarios: Sequence[Any] | None = None,
    fixed: Mapping[str, Sequence[Any]] | None = None,
    shape: Shape = "exponential",
    share: float = MOST_OPERATORS,
    confidence: float = CONFIDENCE,
) -> ForgettingCurve | TooLittleEvidence:
    """Return the forgetting curve and the expiry it suggests.

    Parameters
    ----------
    successes, trials : array_like, shape (rows,)
        Successes and answers of each row; 0/1 answers where `trials` is None. NaN is missing.
    months : array_like, shape (rows,)
        Months since this person last practised or was assessed at this station, 0 or more. NaN
        is missing (a first assessment has none).
    operators, scenarios : sequence of labels, shape (rows,)
        Who, and which scenario.
    wanted : float
        Success rate that must be kept, between 0 and 1.
    expiry_months : float
        The site's own expiry, above 0: no proposal is longer.
    fixed : mapping of str to sequence, optional
        Further columns, such as the logarithm of practices before.
    shape : {"exponential", "power"}
        The logit falls towards a level, or with the logarithm of one plus months.
    share : float
        Share of operators that the stricter proposal keeps above `wanted`, 0.5 up to below 1.
    confidence : float
        Of each interval, between 0 and 1, both excluded.

    Raises
    ------
    DataError
        Counts that are no counts, lengths that differ, months below 0.
    ValueError
        A parameter outside its range.

    Notes
    -----
    The model of :func:`scoring.variation.learning.learning_curve` with the sign turned. Operators
    differ in level and forget alike; the stricter proposal takes the operator of whom `share` are
    better, ``norm.ppf(share)`` standard deviations below the average. Where the interval of
    `change` holds 0 the data cannot tell how long competence lasts, and no figure is
    given: the site's own expiry stands. In 250 simulated departments with four scenarios the 95 %
    interval of `change` covered 94 %, that of the average operator's `months` only 86 %; why was
    not found out. Take `careful` rather than `months`. A long time away is not dealt by lot, so
    people who stayed away may differ in ways that no column holds.
    """
    check_confidence(confidence)
    if not 0 < wanted < 1:
        raise ValueError(f"wanted {wanted!r}: wanted a rate between 0 and 1")
    if not 0 < expiry_months < np.inf:
        raise ValueError(f"expiry_months {expiry_months!r}: wanted a finite number above 0")
    if not 0.5 <= share < 1:
        raise ValueError(f"share {share!r}: wanted 0.5 up to below 1")
    curve = fit_curve(successes, trials, months, operators, scenarios, fixed, shape, "months")
    if isinstance(curve, TooLittleEvidence):
        return curve
    change = total_change(curve, confidence)
    fresh, at_reach = rates(curve, [0.0, curve.reach], confidence)
    forgetting = change.high is not None and change.high < 0

    def proposed(part: float | None) -> Expiry:
        if not forgetting:
            said = (
                "The answers do not show whether people forget within "
                f"{curve.reach:.0f} months; the site's {expiry_months:g} months stand."
            )
            return Expiry(part, None, None, Limit.CANNOT_TELL, said)
        return _expiry(curve, wanted, expiry_months, part, confidence)

    return ForgettingCurve(
        change=change,
        forgetting=forgetting,
        fresh=fresh,
        at_reach=at_reach,
        average=proposed(None),
        most=proposed(share),
        reach=curve.reach,
        curve=curve,
    )


def _expiry(
    curve: Curve, wanted: float, site: float, share: float | None, confidence: float
) -> Expiry:
    """Return the proposal for the average operator or for a share of them."""
    below = 0.0 if share is None else float(norm.ppf(share))
    target = float(logit(wanted))
    far, change, tau, spread, weight = curve.draws()
    every = _until(curve.shape, far - below * spread, change, tau, target)
    node = curve.best
    level, slope = curve.at_best()
    level -= below * curve.fits[node].sds["operator"]
    one = float(
        _until(curve.shape, np.array([level]), np.array([slope]), curve.taus[[node]], target)[0]
    )
    cap = min(site, curve.reach)
    low, _, high = quantiles(every, weight, confidence)
    value = min(one, cap)
    months = Estimate(value, min(low, value), max(min(high, cap), value), curve.answers, confidence)
    who = "the average operator" if share is None else f"{100 * share:.0f} in 100 operators"
    rate = f"{100 * wanted:.0f} %"
    if one == 0:
        limit, said = Limit.BELOW, f"Even at once, {who} would not reach {rate}."
    elif one < cap:
        limit = Limit.RATE
        said = (
            f"For {value:.1f} months without practice {who} would stay at {rate} or above, "
            "then no longer."
        )
    elif site <= curve.reach:
        limit = Limit.SITE
        said = f"Up to the site's {site:g} months {who} would stay at {rate} or above."
    else:
        limit = Limit.DATA
        said = (
            f"Up to {curve.reach:.1f} months {who} would stay at {rate} or above; "
            "nobody in the data was away for longer."
        )
    return Expiry(share, months, months.low, limit, said)


def _until(shape: Shape, far: Vector, change: Vector, tau: Vector, target: float) -> Vector:
    """Return how long the logit stays at the target or above: 0 if never, infinity if always."""
    fresh = far + (change * column(shape, np.zeros(len(far)), tau))
    out = np.full(len(far), np.inf)
    if shape == "exponential":
        falls = (change > 0) & (far < target) & (fresh > target)
        out[falls] = tau[falls] * np.log(change[falls] / (target - far[falls]))
    else:
        falls = (change < 0) & (fresh > target)
        # Above e to the 700 a double ends; nobody stays away that long.
        out[falls] = np.expm1(np.minimum((target - far[falls]) / change[falls], 700.0))
    out[fresh <= target] = 0.0
    return out
