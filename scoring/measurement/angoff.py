"""A cut from judges who say how likely a just competent person gets each item right."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.credit_table import (
    CreditTable,
    Floats,
    credit_table,
    credit_table_from_long,
    numbers,
)
from scoring.values_given import numbers_given

Answer = Estimate | TooLittleEvidence


@dataclass(frozen=True, slots=True)
class AngoffCut:
    """The cut of a panel of judges.

    Attributes
    ----------
    cut : Estimate or TooLittleEvidence
        In points; `n` judges. Student's interval from `se_judges`, cut to the scale; no ends with
        one judge.
    percent : Estimate or TooLittleEvidence
        The same in per cent of the points.
    judges : tuple
        Names of the judges who gave any rating.
    judge_totals : tuple of float
        Each judge's own cut in points.
    judge_sd : float or None
        Standard deviation (``n - 1``) of `judge_totals`; None with one judge.
    se_judges : float or None
        ``judge_sd / sqrt(judges)``: other judges, the same items.
    se_judges_items : float or None
        Other judges and other items like these; None with missing ratings, one judge or one item.
    item_means : tuple of float
        Mean rating of each item, as a share; NaN for an item that nobody rated.
    maximum : float
        Points of the whole form.
    """

    cut: Answer
    percent: Answer
    judges: tuple[Hashable, ...]
    judge_totals: tuple[float, ...]
    judge_sd: float | None
    se_judges: float | None
    se_judges_items: float | None
    item_means: tuple[float, ...]
    maximum: float


def angoff(
    ratings: ArrayLike | CreditTable,
    *,
    scale: float = 1.0,
    weights: ArrayLike | None = None,
    confidence: float = CONFIDENCE,
) -> AngoffCut:
    """Return the cut of a modified Angoff panel.

    Parameters
    ----------
    ratings : array-like, shape (judges, items)
        Probability that a just competent person gets the item right (or the share
        of its points that he earns); 0 and 1 alone make the yes/no variant. NaN where a
        judge gave none. A DataFrame's index and columns name judges and items.
    scale : float
        1 for ratings from 0 to 1, 100 for ratings in per cent.
    weights : array-like, shape (items,), optional
        Points of each item, above 0; otherwise 1 each.
    confidence : float
        Between 0 and 1.

    Raises
    ------
    DataError
        A rating outside 0 to `scale`, weights that do not fit.

    Notes
    -----
    The cut is the sum over items of the mean rating. Where ratings are missing, an item's
    mean is over the judges who rated it, and a judge's total is the cut plus what
    he lay above those means on the items he rated, times the points of the form: an approximation.
    ``se_judges_items`` is ``sqrt(V(judge)/J + V(item)/I + V(rest)/(J I))`` times the
    points, from the two-way analysis of variance (Brennan RL, Lockwood RE (1980), Appl
    Psychol Meas 4:219-240, from memory), with negative components set to 0; with unequal weights
    an approximation. Angoff WH (1971), in Thorndike's Educational Measurement, from memory.
    """
    check_confidence(confidence)
    if not (math.isfinite(scale) and scale > 0):
        raise DataError("scale", scale, "above 0")
    read = credit_table(ratings)
    table = read.credit / scale
    odd = np.argwhere(~np.isnan(table) & ((table < 0) | (table > 1)))
    if odd.size:
        row, column = (int(at) for at in odd[0])
        where = f"judge {read.persons[row]}, item {read.items[column]}"
        raise DataError(where, float(read.credit[row, column]), f"from 0 to {scale:g}")
    points = np.ones(table.shape[1]) if weights is None else numbers(weights, "weight")
    if points.shape != (table.shape[1],) or (points <= 0).any():
        raise DataError("weights", points, f"{table.shape[1]} numbers above 0")
    rated = ~np.isnan(table)
    here = np.asarray(rated.any(axis=1), dtype=np.bool_)
    table, rated = table[here], rated[here]
    judges = tuple(name for name, kept in zip(read.persons, here, strict=True) if kept)
    count = rated.sum(axis=0)
    means = np.where(rated, table, 0.0).sum(axis=0) / np.maximum(count, 1)
    means = np.where(count > 0, means, np.nan)
    full = float(points.sum())
    told = tuple(float(value) for value in means)
    if not judges or (count == 0).any() or not len(points):
        lack = TooLittleEvidence(
            "ratings", f"{int((count == 0).sum())} items have no rating.", len(judges)
        )
        return AngoffCut(lack, lack, judges, (), None, None, None, told, full)
    cut = float(means @ points)
    above = np.where(rated, table - means, 0.0) @ points / (rated @ points)
    totals = cut + above * full
    n = len(judges)
    spread = error = both = None
    low = high = None
    if n > 1:
        spread = float(totals.std(ddof=1))
        error = spread / math.sqrt(n)
        half = float(student.ppf((1 + confidence) / 2, n - 1)) * error
        low, high = max(0.0, cut - half), min(full, cut + half)
        if rated.all() and table.shape[1] > 1:
            both = _both(table) * full
    by = 100 / full
    return AngoffCut(
        Estimate(cut, low, high, n, confidence),
        Estimate(
            cut * by,
            None if low is None else low * by,
            None if high is None else high * by,
            n,
            confidence,
        ),
        judges,
        tuple(float(value) for value in totals),
        spread,
        error,
        both,
        told,
        full,
    )


def angoff_rounds(
    rounds: Sequence[ArrayLike | CreditTable],
    *,
    scale: float = 1.0,
    weights: ArrayLike | None = None,
    confidence: float = CONFIDENCE,
) -> list[AngoffCut]:
    """Return the cut of each round of ratings; the last is the panel's.

    Parameters are those of `angoff`, with a table for each round.
    """
    return [
        angoff(ratings, scale=scale, weights=weights, confidence=confidence) for ratings in rounds
    ]


def angoff_from_long(
    judge: Iterable[Hashable],
    item: Iterable[Hashable],
    rating: Iterable[Any],
    *,
    scale: float = 1.0,
    confidence: float = CONFIDENCE,
) -> AngoffCut:
    """Return the cut from one line for each judge and item; parameters as `angoff`.

    Raises
    ------
    DataError
        Also where a judge rated an item twice (give each round by itself).
    """
    return angoff(credit_table_from_long(judge, item, rating), scale=scale, confidence=confidence)


def ebel(
    items: ArrayLike, expected: ArrayLike, *, scale: float = 1.0
) -> tuple[float, float] | TooLittleEvidence:
    """Return Ebel's cut in items and in per cent, from a grid of relevance by difficulty.

    Parameters
    ----------
    items : array-like of int
        Number of items in each cell, any shape.
    expected : array-like, same shape
        Share of each cell's items that a just competent person has right.
    scale : float
        1 for shares, 100 for per cent.

    Notes
    -----
    Ebel RL (1972), Essentials of Educational Measurement, from memory.
    """
    number, share = numbers_given(items, "items"), numbers_given(expected, "expected")
    if number.shape != share.shape:
        raise DataError("shapes", (number.shape, share.shape), "the same shape")
    if not np.isfinite(number).all() or (number < 0).any():
        raise DataError("items", number.tolist(), "numbers of 0 and more")
    used = number > 0
    share = share / scale
    if not ((share[used] >= 0) & (share[used] <= 1)).all():
        raise DataError("expected", expected, f"from 0 to {scale:g}")
    if not used.any():
        return TooLittleEvidence("items", "There is no item.")
    cut = float((number[used] * share[used]).sum())
    return cut, 100 * cut / float(number.sum())


def _both(table: Floats) -> float:
    judges, items = table.shape
    middle = table.mean()
    judge, item = table.mean(axis=1) - middle, table.mean(axis=0) - middle
    rest = table - middle - judge[:, None] - item
    square_rest = float((rest**2).sum()) / ((judges - 1) * (items - 1))
    square_judge = items * float((judge**2).sum()) / (judges - 1)
    square_item = judges * float((item**2).sum()) / (items - 1)
    of_judge = max(0.0, (square_judge - square_rest) / items)
    of_item = max(0.0, (square_item - square_rest) / judges)
    return math.sqrt(of_judge / judges + of_item / items + square_rest / (judges * items))
