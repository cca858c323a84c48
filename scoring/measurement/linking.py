"""How the scales of two calibrations are moved together by the items they share.

A common item should be as hard for the one group as for the other, but for one constant.
Items that are not have drifted, and are told. After Kolen MJ, Brennan RL (2014), Test
Equating, Scaling, and Linking (from memory).
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.rasch import RaschFit
from scoring.measurement.rasch_conditional import ConditionalFit
from scoring.measurement.right_wrong import Floats

Calibration = RaschFit | ConditionalFit

FEWEST_COMMON = 2
"""Common items without which a link has no standard error. Textbooks ask for a fifth of the form or
20 (common practice, no source); the standard error tells what few items cost."""

FEWEST_FOR_DRIFT = 5
"""Common items for a check of drift: with fewer the quartiles mean nothing. A working judgement."""

DRIFTED = 1.645
"""Robust z beyond which a common item is taken to have drifted (Huynh H, Meyer P (2010), Pract
Assess Res Eval 15(2), from memory): one item in ten would by chance alone."""

IQR_TO_SD = 0.74
"""Standard deviation of a normal curve by its interquartile range (1 / 1.349, rounded as in the
method's description, from memory)."""


@dataclass(frozen=True, slots=True)
class CommonItem:
    """A common item in two calibrations.

    Attributes
    ----------
    item : hashable
    base, new : float
        Its difficulty in each, in the scale of each.
    z : float or None
        Robust z of ``base - new``: off the median, in robust standard deviations; None with
        fewer than 5 common items, or where half of them agree to the last digit.
    drifted : bool
        ``abs(z) > 1.645``.
    """

    item: Hashable
    base: float
    new: float
    z: float | None
    drifted: bool


@dataclass(frozen=True, slots=True)
class Link:
    """How to move a new scale to the base: ``base = slope * new + constant``.

    Attributes
    ----------
    constant : Estimate
        With an interval from `standard_error`; `n` counts the common items used.
    slope : float
        1 for ``mean-mean``; for ``mean-sigma`` the ratio of the common items' standard deviations.
        Far from 1, the forms do not discriminate alike.
    standard_error : float
        Of the constant, from the scatter of the common items: other items
        might have been common. At least `sampling_error`.
    sampling_error : float
        Of the constant, from the errors of the difficulties alone: other persons might have
        answered.
    method : {"mean-mean", "mean-sigma"}
    common : tuple of CommonItem
        All common items; those that drifted were not used if `drift` was "drop".
    used : tuple
        Names of the common items used.
    """

    constant: Estimate
    slope: float
    standard_error: float
    sampling_error: float
    method: Literal["mean-mean", "mean-sigma"]
    common: tuple[CommonItem, ...]
    used: tuple[Hashable, ...]


@dataclass(frozen=True, slots=True, eq=False)
class CommonScale:
    """Difficulties of the items of all forms on one scale.

    Attributes
    ----------
    items : tuple
    difficulty : ndarray of float, shape (items,)
    covariance : ndarray of float, shape (items, items)
    n : int
        Persons behind it.
    """

    items: tuple[Hashable, ...]
    difficulty: Floats
    covariance: Floats
    n: int


def link(
    base: Calibration,
    new: Calibration,
    *,
    method: Literal["mean-mean", "mean-sigma"] = "mean-mean",
    drift: Literal["drop", "keep"] = "drop",
    confidence: float = CONFIDENCE,
) -> Link | TooLittleEvidence:
    """Find how a new calibration moves to the scale of another, by their common items.

    Parameters
    ----------
    base, new : RaschFit or ConditionalFit
        Calibrations of two groups of persons.
    method : {"mean-mean", "mean-sigma"}
        Equal means of the common items' difficulties, or equal means and (n - 1) standard
        deviations. Rasch forms have one discrimination, so ``mean-mean`` is the rule
        and ``mean-sigma`` a check.
    drift : {"drop", "keep"}
        Whether common items with a robust z beyond 1.645 are left out of the link.
    confidence : float

    Returns
    -------
    Link or TooLittleEvidence
        Too little: fewer than 2 common items.

    Raises
    ------
    DataError
        An unknown method or rule.
    """
    check_confidence(confidence)
    if method not in ("mean-mean", "mean-sigma"):
        raise DataError("method", method, "'mean-mean' or 'mean-sigma'")
    if drift not in ("drop", "keep"):
        raise DataError("drift", drift, "'drop' or 'keep'")
    shared = [item for item in base.items if item in set(new.items)]
    if len(shared) < FEWEST_COMMON:
        return _nothing_shared(len(shared))
    at_base = np.array([base.items.index(item) for item in shared])
    at_new = np.array([new.items.index(item) for item in shared])
    off = base.difficulty[at_base] - new.difficulty[at_new]
    z = _robust_z(off)
    far = np.zeros(len(off), dtype=bool) if z is None else np.abs(z) > DRIFTED
    kept = ~far if drift == "drop" else np.ones(len(off), dtype=bool)
    at_base, at_new = at_base[kept], at_new[kept]
    old, fresh = base.difficulty[at_base], new.difficulty[at_new]
    slope = 1.0
    if method == "mean-sigma":
        if np.ptp(fresh) == 0 or np.ptp(old) == 0:
            said = "The common items are all equally hard, so they show no spread to compare."
            return TooLittleEvidence("spread", said, len(fresh))
        slope = float(np.std(old, ddof=1) / np.std(fresh, ddof=1))
    constant = float(old.mean() - slope * fresh.mean())
    size = len(old)
    sampling = float(
        np.sqrt(
            base.covariance[np.ix_(at_base, at_base)].sum()
            + slope**2 * new.covariance[np.ix_(at_new, at_new)].sum()
        )
        / size
    )
    scatter = float(np.std(old - slope * fresh, ddof=1) / np.sqrt(size))
    error = max(sampling, scatter)
    half = error * NormalDist().inv_cdf(0.5 + confidence / 2)
    return Link(
        Estimate(constant, constant - half, constant + half, size, confidence),
        slope,
        error,
        sampling,
        method,
        tuple(
            CommonItem(
                item,
                float(base.difficulty[base.items.index(item)]),
                float(new.difficulty[new.items.index(item)]),
                None if z is None else float(z[row]),
                bool(far[row]),
            )
            for row, item in enumerate(shared)
        ),
        tuple(item for item, keep in zip(shared, kept, strict=True) if keep),
    )


def linked(base: Calibration, new: Calibration, by: Link) -> CommonScale:
    """Put the items of two calibrations on the scale of the first.

    Parameters
    ----------
    base, new : RaschFit or ConditionalFit
    by : Link
        By ``mean-mean``. Items used for it keep their difficulty in `base`; items that
        only `new` has are moved. A common item that drifted keeps that of `base` too.

    Raises
    ------
    DataError
        A link by ``mean-sigma``: it would give the forms two discriminations.
    """
    if by.method != "mean-mean":
        raise DataError("by", by.method, "a link by 'mean-mean'")
    alone = [item for item in new.items if item not in set(base.items)]
    # Everything is a sum of the two calibrations' difficulties, so the covariance is exact.
    turn = np.zeros((len(base.items) + len(alone), len(base.items) + len(new.items)))
    turn[: len(base.items), : len(base.items)] = np.eye(len(base.items))
    for row, item in enumerate(alone, start=len(base.items)):
        turn[row, len(base.items) + new.items.index(item)] = 1.0
        for name in by.used:
            turn[row, base.items.index(name)] += 1.0 / len(by.used)
            turn[row, len(base.items) + new.items.index(name)] -= 1.0 / len(by.used)
    size = len(base.items)
    both = np.zeros((turn.shape[1], turn.shape[1]))
    both[:size, :size], both[size:, size:] = base.covariance, new.covariance
    return CommonScale(
        (*base.items, *alone),
        turn @ np.concatenate([base.difficulty, new.difficulty]),
        turn @ both @ turn.T,
        base.n + new.n,
    )


def _nothing_shared(n: int) -> TooLittleEvidence:
    said = (
        f"The two calibrations share {n or 'no'} item{'' if n == 1 else 's'}; at least "
        f"{FEWEST_COMMON} are needed to link them."
    )
    return TooLittleEvidence("common items", said, n)


def _robust_z(off: Floats) -> Floats | None:
    if len(off) < FEWEST_FOR_DRIFT:
        return None
    low, middle, high = (float(at) for at in np.percentile(off, [25, 50, 75]))
    if high - low < 1e-12:
        return None
    found: Floats = (off - middle) / (IQR_TO_SD * (high - low))
    return found
