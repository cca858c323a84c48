"""How well a person tells soiled from clean, and how ready to call a place soiled.

A place of an inspection picture is soiled (signal) or clean (noise). Who calls
everything soiled misses nothing and has learnt nothing; d' and the criterion tell
the two apart. Operators together are in `scoring.variation.detection_between`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, hypot, sqrt
from statistics import NormalDist
from typing import Literal

from scipy.stats import beta as beta_distribution  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.variation.intervals import wilson

Correction = Literal["loglinear", "extreme", "none"]
IntervalKind = Literal["score", "gourevitch"]

LEAST_PLACES = 5
"""Fewer soiled or clean places than this give no figure: with four, the interval of d' covers
more than from guessing to nearly faultless. A working judgement, no source."""

NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class SignalDetection:
    """Sensitivity and bias of one person, or of one table of answers.

    Attributes
    ----------
    hit_rate, false_alarm_rate : Estimate
        Shares as counted, without correction, with Wilson's interval; n is the places.
    d_prime : Estimate
        z(H) - z(F); 0 is guessing. In standard deviations of what is seen. n is all places.
    criterion : Estimate
        c = -(z(H) + z(F))/2; above 0 slow to call a place soiled, below 0 quick.
    ln_beta : Estimate
        c d', the logarithm of the likelihood ratio at the criterion. Its interval is
        always the large-sample one.
    a_prime : float
        Area under a curve through one point, without distributions; 0.5 is guessing.
    signals, noises : int
        Soiled and clean places.
    correction : str
        How rates of 0 and 1 were kept from infinity.
    interval : str
        How the intervals of d' and c were made.
    """

    hit_rate: Estimate
    false_alarm_rate: Estimate
    d_prime: Estimate
    criterion: Estimate
    ln_beta: Estimate
    a_prime: float
    signals: int
    noises: int
    correction: Correction
    interval: IntervalKind

    @property
    def beta(self) -> float:
        """Likelihood ratio at the criterion."""
        return exp(self.ln_beta.value)


def signal_detection(
    hits: int,
    misses: int,
    false_alarms: int,
    correct_rejections: int,
    *,
    correction: Correction = "loglinear",
    interval: IntervalKind = "score",
    confidence: float = CONFIDENCE,
    least: int = LEAST_PLACES,
) -> SignalDetection | TooLittleEvidence:
    """Return d', criterion and ln beta from the four counts of a yes-no task.

    Parameters
    ----------
    hits, misses : int
        Soiled places called soiled, and called clean.
    false_alarms, correct_rejections : int
        Clean places called soiled, and called clean.
    correction : {"loglinear", "extreme", "none"}
        ``loglinear`` (Hautus 1995): 0.5 to each count, always. ``extreme`` (Macmillan and
        Kaplan 1985): only rates of 0 and 1 become 1/(2n) and 1 - 1/(2n). ``none``: rates as they
        are; a rate of 0 or 1 is then too little evidence.
    interval : {"score", "gourevitch"}
        ``gourevitch`` (Gourevitch and Galanter 1967): value -+ z x large-sample error.
        ``score`` (default): from Wilson's intervals of the two rates, put together as
        in Zou and Donner (2008), at rates of 0 and 1 with Jeffreys' end, which is finite.
    confidence : float
        Between 0 and 1.
    least : int
        Soiled and clean places needed, each; at least 1.

    Returns
    -------
    SignalDetection or TooLittleEvidence

    Raises
    ------
    DataError
        A count is no whole number of 0 or more.

    Notes
    -----
    With 10 to 200 places, d' from 0.5 to 2.5 and criteria from -0.5 to 0.3, ``score`` covers d' in
    93 to 97.5 %, found from the chances of every outcome; ``gourevitch`` in 90 to 98 %. Of c
    ``score`` covers 93 to 98 %; where rates of 0 or 1 are the rule (d' of 3.5 at 30 places) both
    cover nearly 100 %. Equal variances of signal and noise are
    assumed; one pair of rates cannot test that. Definitions as in Macmillan and
    Creelman (2005), Detection Theory, 2nd ed. (from memory).
    """
    check_confidence(confidence)
    if correction not in ("loglinear", "extreme", "none"):
        raise DataError("correction", correction, "'loglinear', 'extreme' or 'none'")
    if interval not in ("score", "gourevitch"):
        raise DataError("interval", interval, "'score' or 'gourevitch'")
    h, m = count_of("hits", hits), count_of("misses", misses)
    f, r = (
        count_of("false_alarms", false_alarms),
        count_of("correct_rejections", correct_rejections),
    )
    short = _too_few(h + m, f + r, max(1, least))
    if short is not None:
        return short
    if correction == "none" and 0 in (h, m, f, r):
        return TooLittleEvidence(
            "spread", "A rate is 0 or 1, where d' has no value without a correction.", h + m + f + r
        )
    hit, hit_n = _rate(h, h + m, correction)
    alarm, alarm_n = _rate(f, f + r, correction)
    z_hit, z_alarm = NORMAL.inv_cdf(hit), NORMAL.inv_cdf(alarm)
    of_hit, of_alarm = _variance(hit, hit_n), _variance(alarm, alarm_n)
    quantile = NORMAL.inv_cdf(0.5 + confidence / 2)
    n = h + m + f + r
    d_prime, criterion = z_hit - z_alarm, -(z_hit + z_alarm) / 2
    ln_beta = (z_alarm**2 - z_hit**2) / 2
    wide = quantile * sqrt(of_hit + of_alarm)
    down_d = up_d = wide
    down_c = up_c = wide / 2
    if interval == "score":
        hit_down, hit_up = _apart(h, h + m, z_hit, confidence)
        alarm_down, alarm_up = _apart(f, f + r, z_alarm, confidence)
        down_d, up_d = hypot(hit_down, alarm_up), hypot(hit_up, alarm_down)
        down_c, up_c = hypot(hit_up, alarm_up) / 2, hypot(hit_down, alarm_down) / 2
    of_beta = quantile * sqrt(z_hit**2 * of_hit + z_alarm**2 * of_alarm)
    return SignalDetection(
        hit_rate=_share(h, h + m, confidence),
        false_alarm_rate=_share(f, f + r, confidence),
        d_prime=Estimate(d_prime, d_prime - down_d, d_prime + up_d, n, confidence),
        criterion=Estimate(criterion, criterion - down_c, criterion + up_c, n, confidence),
        ln_beta=Estimate(ln_beta, ln_beta - of_beta, ln_beta + of_beta, n, confidence),
        a_prime=_a_prime(h / (h + m), f / (f + r)),
        signals=h + m,
        noises=f + r,
        correction=correction,
        interval=interval,
    )


def count_of(name: str, value: float) -> int:
    """Return a count; raise `DataError` if it is no whole number of 0 or more."""
    try:
        whole = int(value)
    except (TypeError, ValueError, OverflowError) as error:
        raise DataError(name, value, "a whole number of 0 and more") from error
    if whole != value or whole < 0:
        raise DataError(name, value, "a whole number of 0 and more")
    return whole


def _too_few(signals: int, noises: int, least: int) -> TooLittleEvidence | None:
    if signals < least:
        return TooLittleEvidence(
            "signals",
            f"Only {counted(signals, 'soiled place')} seen; at least {least} are needed.",
            signals + noises,
        )  # fmt: skip
    if noises < least:
        return TooLittleEvidence(
            "noises", f"Only {counted(noises, 'clean place')} seen; at least {least} are needed.",
            signals + noises,
        )  # fmt: skip
    return None


def _rate(count: int, n: int, correction: Correction) -> tuple[float, float]:
    """Return the corrected rate, and the number it then rests on."""
    if correction == "loglinear":
        return (count + 0.5) / (n + 1), n + 1.0
    if correction == "extreme" and count in (0, n):
        return (0.5 / n if count == 0 else 1 - 0.5 / n), float(n)
    return count / n, float(n)


def _variance(rate: float, n: float) -> float:
    """Return the large-sample variance of z(rate) (Gourevitch and Galanter 1967)."""
    density = NORMAL.pdf(NORMAL.inv_cdf(rate))
    return rate * (1 - rate) / (n * density**2)


def _apart(count: int, n: int, z: float, confidence: float) -> tuple[float, float]:
    """Return how far the ends of z(rate) lie below and above its estimate."""
    found = wilson(count, n, confidence)
    tail = 0.5 - confidence / 2
    low = (
        found.low if count > 0 else float(beta_distribution.ppf(tail, count + 0.5, n - count + 0.5))
    )
    high = found.high if count < n else float(beta_distribution.isf(tail, n + 0.5, 0.5))
    return max(0.0, z - NORMAL.inv_cdf(low)), max(0.0, NORMAL.inv_cdf(high) - z)


def _share(count: int, n: int, confidence: float) -> Estimate:
    found = wilson(count, n, confidence)
    return Estimate(found.estimate, found.low, found.high, n, confidence)


def _a_prime(hit: float, alarm: float) -> float:
    """Return A' (Pollack and Norman 1964; below chance mirrored as in Aaronson and Watts 1987)."""
    if hit == alarm:
        return 0.5
    high, low = max(hit, alarm), min(hit, alarm)
    area = 0.5 + (high - low) * (1 + high - low) / (4 * high * (1 - low))
    return area if hit > alarm else 1 - area
