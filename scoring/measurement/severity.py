"""What a rater's severity is told as: with interval, against all raters, and flagged or not.

The additive and the logistic model give severities with their covariances; here these become
answers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy import optimize, stats  # type: ignore[import-untyped]

from scoring.evidence import (
    Estimate,
    TooLittleEvidence,
    counted,
)
from scoring.measurement.g_cells import Codes, Floats

Flag = Literal["severe", "lenient", "none"]

FEWEST_PERSONS = 3
"""Persons a rater must have rated before anything is said of the rater: with one, the rater
cannot be told from the person. A working judgement, no source."""

FALSE_DISCOVERY = 0.05
"""Part of the flags that may be false on average (Benjamini and Hochberg 1995); the level is
common practice, no source."""

FARTHEST = 1e4
"""Largest variance between raters looked for, in mean squared errors of a severity. A working
judgement: beyond it the severities say nothing of chance."""


@dataclass(frozen=True, slots=True)
class RaterSeverity:
    """One rater.

    Attributes
    ----------
    severity : Estimate
        How much less than the average rater this one gives for the same work: score points
        or, of the logistic model, logits. Above 0 is severe. `n` is the persons rated.
    standard_error : float
    ratings, persons : int
    p_value : float
        Two-sided, of being as the average rater.
    flag : {"severe", "lenient", "none"}
        With the false discovery rate held over all raters.
    misfit : float
        Mean squared residual over what is expected: 1 is as consistent as the raters
        together, above 1 less.
    misfit_p_value : float
        One-sided, of a spread above what chance makes.
    inconsistent : bool
        The same with the false discovery rate held over all raters.
    """

    severity: Estimate
    standard_error: float
    ratings: int
    persons: int
    p_value: float
    flag: Flag
    misfit: float
    misfit_p_value: float
    inconsistent: bool


@dataclass(frozen=True, slots=True)
class SeverityStudy:
    """All raters.

    Attributes
    ----------
    raters : dict of label to RaterSeverity or TooLittleEvidence
        Sorted by label.
    spread : Estimate or TooLittleEvidence
        Standard deviation of true severities between raters, `n` raters.
    p_value : float
        Of all raters being equally severe.
    linked : bool
        Whether all raters are tied together by persons whom more than one rated. If not, they
        are compared on trust that persons came to raters by chance.
    said : tuple of str
        What a reader must know.
    ratings, persons, items : int
    """

    raters: dict[str | int, RaterSeverity | TooLittleEvidence]
    spread: Estimate | TooLittleEvidence
    p_value: float
    linked: bool
    said: tuple[str, ...]
    ratings: int
    persons: int
    items: int


@dataclass(frozen=True, slots=True)
class Fitted:
    """What a model found of the raters that it can tell apart; arrays of shape (raters,).

    Attributes
    ----------
    effect : ndarray
        Severities up to a constant.
    covariance : ndarray, shape (raters, raters)
        Of their differences: any matrix right for contrasts.
    squares, expected : ndarray
        Sum of squared residuals, and its expectation.
    spread_of_squares : ndarray
        Variance of that sum.
    degrees : float
        Of the error variance; infinite for the logistic model.
    """

    effect: Floats
    covariance: Floats
    squares: Floats
    expected: Floats
    spread_of_squares: Floats
    degrees: float


def study(
    fitted: Fitted,
    labels: list[str | int],
    ratings: Codes,
    persons: Codes,
    confidence: float,
    false_discovery: float,
) -> tuple[dict[str | int, RaterSeverity], Estimate | TooLittleEvidence, float]:
    """Return each rater, the spread between them, and the test that there is none."""
    count = len(labels)
    centre = np.eye(count) - 1.0 / count
    severity = centre @ fitted.effect
    covariance = centre @ fitted.covariance @ centre.T
    error = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    half = float(stats.t.ppf((1 + confidence) / 2, fitted.degrees)) * error
    ratio = np.divide(severity, error, out=np.zeros(count), where=error > 0)
    chance = 2 * stats.t.sf(np.abs(ratio), fitted.degrees)
    misfit = fitted.squares / fitted.expected
    # A scaled chi-squared with the mean and variance of the sum (Satterthwaite).
    freedom = 2 * fitted.expected**2 / fitted.spread_of_squares
    spread_chance = stats.chi2.sf(misfit * freedom, freedom)
    told = stats.false_discovery_control(chance) <= false_discovery
    loose = stats.false_discovery_control(spread_chance) <= false_discovery
    found = {}
    for k, label in enumerate(labels):
        flag: Flag = "none"
        if told[k]:
            flag = "severe" if severity[k] > 0 else "lenient"
        value = float(severity[k])
        ends = (value - float(half[k]), value + float(half[k]))
        found[label] = RaterSeverity(
            Estimate(value, *ends, int(persons[k]), confidence),
            float(error[k]),
            int(ratings[k]),
            int(persons[k]),
            float(chance[k]),
            flag,
            float(misfit[k]),
            float(spread_chance[k]),
            bool(loose[k]),
        )
    return found, *between(severity, covariance, fitted.degrees, confidence)


def between(
    severity: Floats, covariance: Floats, degrees: float, confidence: float
) -> tuple[Estimate | TooLittleEvidence, float]:
    """Return the standard deviation of true severities, and the test that it is 0.

    The quadratic form of the severities in the inverse of their covariance plus a common variance
    is set to its expectation (Paule and Mandel 1982), and to the quantiles of F for the
    interval (Viechtbauer 2007, Q-profile; both from memory), on contrasts, as the severities
    are correlated.
    """
    count = len(severity)
    # Columns orthogonal to the constant: contrasts.
    basis = np.linalg.qr(np.column_stack([np.ones(count), np.eye(count)[:, :-1]]))[0][:, 1:]
    values, turned = np.linalg.eigh(basis.T @ covariance @ basis)
    squared = (turned.T @ (basis.T @ severity)) ** 2
    values = np.maximum(values, values.max() * 1e-12)
    freedom = count - 1
    scale = float(values.mean())

    def form(variance: float) -> float:
        return float((squared / (values + variance)).sum()) / freedom

    def root(level: float) -> float:
        if form(0.0) <= level:
            return 0.0
        top = FARTHEST * scale
        if form(top) > level:
            return top
        return float(optimize.brentq(lambda v: form(v) - level, 0.0, top, xtol=1e-12 * scale))

    law = stats.f(freedom, degrees) if np.isfinite(degrees) else stats.chi2(freedom)
    over = 1.0 if np.isfinite(degrees) else float(freedom)
    chance = float(law.sf(form(0.0) * over))
    if count < 3:
        said = (
            f"Only {counted(count, 'rater')}; at least 3 are needed to say how much raters differ."
        )
        return TooLittleEvidence("raters", said, count), chance
    value, low, high = (
        float(np.sqrt(root(level)))
        for level in (
            1.0,
            float(law.ppf((1 + confidence) / 2)) / over,
            float(law.ppf((1 - confidence) / 2)) / over,
        )
    )
    return Estimate(value, min(low, value), max(high, value), count, confidence), chance
