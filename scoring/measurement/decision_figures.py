"""What a cut does to people whose true scores are known in distribution: hits, wrongs, repeats."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv, gammaln, xlog1py, xlogy  # type: ignore[import-untyped]

from scoring.evidence import DataError
from scoring.measurement.credit_table import Floats
from scoring.measurement.true_score_beta import TrueScoreBeta

NODES = 60
"""Gauss-Legendre points on each side of the cut. 120 change no figure of a form of up to
1,000 items by more than 1e-6 (tested)."""

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(NODES)
_UNIT = (_POINTS + 1) / 2
_SMOOTH = _UNIT**2 * (3 - 2 * _UNIT)
_SMOOTH_WEIGHT = _WEIGHTS / 2 * 6 * _UNIT * (1 - _UNIT)
"""Points bunched at both ends, where the quantile function may be steep."""


@dataclass(frozen=True, slots=True)
class DecisionFigures:
    """What a cut does, as shares of all persons.

    Attributes
    ----------
    accuracy : float
        Decided as the true score would have it.
    false_pass, false_fail : float
        Passes though the true score is below the cut; fails though it is not.
    consistency : float
        Decided the same on two forms alike.
    chance : float
        The same if decisions of the two forms had nothing to do with each other.
    kappa : float
        ``(consistency - chance) / (1 - chance)``; NaN where everybody passes or fails.
    passing : float
        Expected to pass.
    sensitivity, specificity : float
        Of those truly at or above the cut, the share that passes; of those truly below, the
        share that fails. NaN where there are none.
    """

    accuracy: float
    false_pass: float
    false_fail: float
    consistency: float
    chance: float
    kappa: float
    passing: float
    sensitivity: float
    specificity: float


def decision_figures(
    true_score: TrueScoreBeta,
    length: int,
    cut: float,
    *,
    true_cut: float | None = None,
    lords_k: float = 0.0,
) -> DecisionFigures:
    """Return accuracy and consistency of a cut, given the distribution of true scores.

    Parameters
    ----------
    true_score : TrueScoreBeta
        Distribution of true scores, as shares.
    length : int
        Number of right/wrong items (or the effective test length), 1 or more.
    cut : float
        Share of the items needed, 0 to 1: a person passes with at least ``ceil(cut * length)``.
    true_cut : float, optional
        Cut on the true scale; otherwise `cut`.
    lords_k : float
        0 for binomial errors; otherwise Lord's two-term approximation to the compound binomial.

    Notes
    -----
    Livingston SA, Lewis C (1995), J Educ Meas 32:179-197; Hanson BA (1991), ACT Research Report
    91-5; Huynh H (1976), J Educ Meas 13:253-264 (two forms alike, beta-binomial). From memory.
    """
    if length < 1 or length != int(length):
        raise DataError("length", length, "a whole number of 1 or more")
    for name, value in (("cut", cut), ("true_cut", true_cut)):
        if value is not None and not 0 <= value <= 1:
            raise DataError(name, value, "from 0 to 1")
    if lords_k and length < 2:
        raise DataError("length", length, "2 or more with Lord's k")
    shape = true_score.lower, true_score.upper, true_score.alpha, true_score.beta
    found = figures_of(
        np.array([shape]),
        np.array([float(length)]),
        least_right(np.array([float(length)]), cut),
        cut if true_cut is None else true_cut,
        np.array([lords_k]),
    )
    return DecisionFigures(**{name: float(value[0]) for name, value in found.items()})


def least_right(length: Floats, cut: float) -> Floats:
    """Return the fewest items right that pass. Binary fractions must not cost an item."""
    found: Floats = np.ceil(length * cut - 1e-9)
    return found


def figures_of(
    shapes: Floats, length: Floats, needed: Floats, true_cut: float, k: Floats
) -> dict[str, Floats]:
    """Return the figures of `DecisionFigures` for many distributions at once.

    Parameters
    ----------
    shapes : ndarray, shape (sets, 4)
        Lower, upper, alpha, beta.
    length, needed, k : ndarray, shape (sets,)
        Items, items needed, Lord's k.
    true_cut : float
        Cut on the true scale, a share.
    """
    lower, upper, alpha, beta = shapes.T[:, :, None]
    inside = np.clip((true_cut - lower) / (upper - lower), 0.0, 1.0)
    below = betainc(alpha, beta, inside)
    low_rank, high_rank = below * _SMOOTH, below + (1 - below) * _SMOOTH
    sums = []
    for rank, mass in ((low_rank, below), (high_rank, 1 - below)):
        true = lower + (upper - lower) * betaincinv(alpha, beta, rank)
        passes = _passes(true, length[:, None], needed[:, None], k[:, None])
        weight = mass * _SMOOTH_WEIGHT
        sums.append(((passes * weight).sum(axis=1), (passes**2 * weight).sum(axis=1)))
    (fail_pass, fail_twice), (right_pass, right_twice) = sums
    poor = below[:, 0]
    passing = fail_pass + right_pass
    consistency = 1 - 2 * passing + 2 * (fail_twice + right_twice)
    chance = passing**2 + (1 - passing) ** 2
    return {
        "accuracy": right_pass + poor - fail_pass,
        "false_pass": fail_pass,
        "false_fail": np.maximum(1 - poor - right_pass, 0.0),
        "consistency": consistency,
        "chance": chance,
        "kappa": _share(consistency - chance, 1 - chance),
        "passing": passing,
        "sensitivity": _share(right_pass, 1 - poor),
        "specificity": _share(poor - fail_pass, poor),
    }


def _share(part: Floats, whole: Floats) -> Floats:
    empty = whole <= 1e-12
    found: Floats = np.where(empty, np.nan, part / np.where(empty, 1.0, whole))
    return found


def _passes(true: Floats, length: Floats, needed: Floats, k: Floats) -> Floats:
    """Return the probability of at least `needed` right of `length` at each true score."""
    safe = np.clip(needed, 1, length)
    found = betainc(safe, length - safe + 1, true)
    if k.any():
        gap = _binomial(needed - 2, length - 2, true) - _binomial(needed - 1, length - 2, true)
        found = np.clip(found - k * true * (1 - true) * gap, 0.0, 1.0)
    whole: Floats = np.where(needed <= 0, 1.0, np.where(needed > length, 0.0, found))
    return whole


def _binomial(count: Floats, n: Floats, share: Floats) -> Floats:
    possible: NDArray[np.bool_] = (count >= 0) & (count <= n)
    x = np.where(possible, count, 0.0)
    size = gammaln(n + 1) - gammaln(x + 1) - gammaln(n - x + 1)
    found: Floats = np.where(possible, np.exp(size + xlogy(x, share) + xlog1py(n - x, -share)), 0.0)
    return found
