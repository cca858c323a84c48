"""How far a person's score may lie from the true one: overall, at each score, and as an interval.

The error is told in the unit of the score. Errors differ along the scale: at the
ends of a right/wrong form there is little room for luck.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri  # type: ignore[import-untyped]
from scipy.stats import chi2  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.credit_table import CreditTable, Floats, credit_table, numbers
from scoring.measurement.reliability import alpha_of, lacking
from scoring.values_given import numbers_given


def standard_error_of_measurement(sd: float, reliability: float) -> float:
    """Return ``sd * sqrt(1 - reliability)``, in the unit of the score; reliability 0 to 1."""
    if not (math.isfinite(sd) and sd >= 0):
        raise DataError("sd", sd, "0 or more")
    if not 0 <= reliability <= 1:
        raise DataError("reliability", reliability, "from 0 to 1")
    return sd * math.sqrt(1 - reliability)


def measurement_error(
    credit: ArrayLike | CreditTable, *, ddof: int = 1, confidence: float = CONFIDENCE
) -> Estimate | TooLittleEvidence:
    """Return the standard error of measurement of the total score, from alpha.

    Parameters
    ----------
    credit : array-like, shape (persons, items)
        Persons with a missing cell are left out.
    ddof : int
        The total's variance is divided by ``n - ddof``; 1 (the usual) or 0.
    confidence : float
        Between 0 and 1. The interval is the chi-square one of the residual mean square of
        persons x items with ``(n - 1) (k - 1)`` degrees of freedom, exact for normal errors.

    Returns
    -------
    Estimate or TooLittleEvidence
        In the unit of the total; `n` persons. ``items``, ``persons``, ``spread`` are lacking as
        for `cronbach_alpha`.
    """
    check_confidence(confidence)
    table = credit_table(credit).complete()
    lack = lacking(table)
    if lack is not None:
        return lack
    n, k = table.shape
    total = float(table.sum(axis=1).var(ddof=ddof))
    # 1 - alpha is below 0 only by rounding.
    square = max(0.0, total * (1 - alpha_of(table)))
    free = (n - 1) * (k - 1)
    tail = (1 - confidence) / 2
    value = math.sqrt(square)
    low, high = (math.sqrt(square * free / float(chi2.ppf(p, free))) for p in (1 - tail, tail))
    return Estimate(value, min(low, value), max(high, value), n, confidence)


def binomial_error(score: ArrayLike, items: int, *, factor: float = 1.0) -> Floats:
    """Return Lord's standard error of a number-right score, ``sqrt(x (k - x) / (k - 1))``.

    Parameters
    ----------
    score : array-like
        Number right, 0 to `items`; fractions are allowed.
    items : int
        Number of items, 2 or more.
    factor : float
        What the squared error is multiplied by. Keats (1957) takes ``(1 - KR-20) / (1 - KR-21)``,
        so that the mean squared error agrees with KR-20; see `keats_factor`.

    Returns
    -------
    ndarray of float
        One standard error for each score, in items.

    Notes
    -----
    Lord FM (1955), Educ Psychol Meas 15:325-336, and (1957) 17:510-521, from memory.
    """
    if not 2 <= items < math.inf:
        raise DataError("items", items, "2 or more")
    if not (math.isfinite(factor) and factor >= 0):
        raise DataError("factor", factor, "0 or more")
    x = numbers(np.atleast_1d(numbers_given(score, "score")), "score")
    odd = np.flatnonzero((x < 0) | (x > items))
    if odd.size:
        raise DataError("score", float(x[odd[0]]), f"from 0 to {items}")
    found: Floats = np.sqrt(factor * x * (items - x) / (items - 1))
    return found


def keats_factor(kr20: float, kr21: float) -> float:
    """Return ``(1 - KR-20) / (1 - KR-21)``, Keats's factor for squared binomial errors."""
    if not (kr20 <= 1 and kr21 < 1):
        raise DataError("KR-20 and KR-21", (kr20, kr21), "at most 1, KR-21 below 1")
    return (1 - kr20) / (1 - kr21)


def conditional_error(
    credit: ArrayLike | CreditTable,
    *,
    strata: Sequence[Hashable] | None = None,
    weights: ArrayLike | None = None,
    error: Literal["absolute", "relative"] = "absolute",
) -> Floats:
    """Return each person's own standard error of the total score.

    Parameters
    ----------
    credit : array-like, shape (persons, items)
        Right/wrong or partial credit. A person's missing cells are left out of his own error,
        which is then that of the items he met.
    strata : sequence, shape (items,), optional
        The section of each item. Errors are then taken within sections (compound binomial:
        Feldt 1984), because the shares of sections in a form are fixed.
    weights : array-like, shape (items,), optional
        What each item counts in the total. Weights are taken as alike within a
        section; where they differ, credit times weight is taken as the item's own score.
    error : {"absolute", "relative"}
        ``absolute``: from the spread of the person's own credits, ``sqrt(k) * sd`` (Brennan 1998);
        for right/wrong items exactly Lord's `binomial_error`. ``relative``: after
        taking off how hard each item is (Feldt and Qualls 1996, Brennan 1998), which
        counts only what can change the order of persons; needs complete rows.

    Returns
    -------
    ndarray of float, shape (persons,)
        NaN for a person with fewer than 2 items in a section he met, and, for ``relative``, for
        persons with missing items.

    Raises
    ------
    DataError
        `strata` or `weights` do not fit.

    Notes
    -----
    Feldt LS (1984), Educ Psychol Meas 44:883-891; Feldt LS, Qualls AL (1996), J Educ
    Meas 33:141-156; Brennan RL (1998), Appl Psychol Meas 22:307-331. From memory.
    """
    if error not in ("absolute", "relative"):
        raise ValueError(f"error {error!r}: wanted 'absolute' or 'relative'")
    table = credit_table(credit).credit
    k = table.shape[1]
    if weights is not None:
        by = numbers(weights, "weight")
        if by.shape != (k,):
            raise DataError("weights", by.shape, f"{k} weights")
        table = table * by
    if error == "relative":
        whole = np.asarray(~np.isnan(table).any(axis=1))
        if not whole.any():
            return np.full(len(table), np.nan)
        table = np.where(whole[:, None], table - table[whole].mean(axis=0), np.nan)
    sections = [0] * k if strata is None else list(strata)
    if len(sections) != k:
        raise DataError("strata", f"{len(sections)} sections", f"{k}, one for each item")
    square = np.zeros(len(table))
    for section in dict.fromkeys(sections):
        square += _within(table[:, [name == section for name in sections]])
    square[np.isnan(table).all(axis=1)] = np.nan
    found: Floats = np.sqrt(square)
    return found


def _within(part: Floats) -> Floats:
    """Return the squared error of each person's sum over one section."""
    met = ~np.isnan(part)
    k = met.sum(axis=1)
    many = np.maximum(k, 1)
    middle = np.where(met, part, 0.0).sum(axis=1) / many
    squares = (np.where(met, part - middle[:, None], 0.0) ** 2).sum(axis=1)
    found = np.where(k >= 2, k / np.maximum(k - 1, 1) * squares, np.nan)
    return np.where(k == 0, 0.0, found)


def true_score(
    score: float,
    reliability: float,
    *,
    mean: float,
    sd: float,
    n: int = 1,
    method: Literal["kelley", "observed"] = "kelley",
    confidence: float = CONFIDENCE,
) -> Estimate:
    """Return the estimated true score of a person with its interval.

    Parameters
    ----------
    score : float
        Observed.
    reliability : float
        Of the score, 0 to 1, taken as known.
    mean, sd : float
        Of the scores of the group the person belongs to.
    n : int
        What to tell as `n`: the size of that group.
    method : {"kelley", "observed"}
        ``kelley``: pulled towards the mean, ``mean + r (score - mean)``, with the standard
        error of estimation ``sd sqrt(r (1 - r))``. ``observed``: the score itself with
        the standard error of measurement ``sd sqrt(1 - r)``.
    confidence : float
        Between 0 and 1; normal interval.

    Notes
    -----
    Kelley TL (1947), Fundamentals of Statistics; Lord FM, Novick MR (1968). From memory.
    """
    check_confidence(confidence)
    if method not in ("kelley", "observed"):
        raise ValueError(f"method {method!r}: wanted 'kelley' or 'observed'")
    error = standard_error_of_measurement(sd, reliability)
    if not (math.isfinite(score) and math.isfinite(mean)):
        raise DataError("score and mean", (score, mean), "finite numbers")
    value = score
    if method == "kelley":
        value = mean + reliability * (score - mean)
        error *= math.sqrt(reliability)
    half = -float(ndtri((1 - confidence) / 2)) * error
    return Estimate(value, value - half, value + half, n, confidence)
