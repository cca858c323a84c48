"""Item difficulties given each person's score: no assumption about the population.

Under the Rasch model the answers of a person, given the score, depend on the
difficulties alone (Andersen EB (1972), J R Stat Soc B 34:42-54, from memory). The
probabilities given a score need the elementary symmetric functions of the items'
easiness. Recursions for their second derivatives lose digits or time in long tests; here
the distribution of the score is tilted so that the wanted scores are likely and then inverted by
a discrete Fourier transform, which is exact to rounding and costs two matrix products.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import chi2  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.climb import climb
from scoring.measurement.rasch import too_few
from scoring.measurement.right_wrong import (
    Answers,
    Floats,
    Whole,
    answers,
    forms_of,
    strong_parts,
    usable,
)
from scoring.values_given import numbers_given

LIKELY = 1e-3
"""Scores at least this likely are read from one tilted transform: rounding (1e-15) is then below
1e-11 of them. Rarer ones get a tilt of their own. A working judgement."""

Normalisation = Literal["sum", "first"]


@dataclass(frozen=True, slots=True, eq=False)
class ConditionalFit:
    """Difficulties of items by conditional maximum likelihood.

    Attributes
    ----------
    items : tuple
        Names, in the order of the table.
    difficulty, standard_error : ndarray of float, shape (items,)
        In logits; higher is harder; `normalisation` says where 0 is. Easiness is
        ``-difficulty``, with the same error.
    covariance : ndarray of float, shape (items, items)
    log_likelihood : float
        Conditional log-likelihood at the maximum.
    n : int
        Persons whose score says something: neither 0 nor full.
    n_answers : ndarray of float, shape (items,)
        Their answers to each item.
    normalisation : {"sum", "first"}
        Difficulties sum to 0, or the first item has difficulty 0.
    dropped : dict
        Items without an estimate, each with the reason.
    answers : Answers
        What was used.
    confidence : float
    """

    items: tuple[Hashable, ...]
    difficulty: Floats
    standard_error: Floats
    covariance: Floats
    log_likelihood: float
    n: int
    n_answers: Floats
    normalisation: Normalisation
    dropped: dict[Hashable, TooLittleEvidence]
    answers: Answers
    confidence: float = CONFIDENCE

    def of(self, item: Hashable) -> Estimate | TooLittleEvidence:
        """Return the difficulty of one item with its interval; `n` counts its answers."""
        if item in self.dropped:
            return self.dropped[item]
        if item not in self.items:
            raise DataError("item", item, "an item of this fit")
        at = self.items.index(item)
        value, half = float(self.difficulty[at]), float(self.standard_error[at])
        half *= NormalDist().inv_cdf(0.5 + self.confidence / 2)
        n = round(float(self.n_answers[at]))
        return Estimate(value, value - half, value + half, n, self.confidence)


@dataclass(frozen=True, slots=True)
class LikelihoodRatio:
    """A likelihood-ratio test.

    Attributes
    ----------
    statistic : float
        Twice the gain in log-likelihood.
    degrees_of_freedom : int
    p_value : float
        From the chi-square distribution.
    n : int
        Persons.
    """

    statistic: float
    degrees_of_freedom: int
    p_value: float
    n: int


def rasch_conditional(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
    normalisation: Normalisation = "sum",
    confidence: float = CONFIDENCE,
) -> ConditionalFit | TooLittleEvidence:
    """Estimate item difficulties by conditional maximum likelihood (CML).

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong, NaN or None where not asked; see `right_wrong.answers`.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs.
    items : sequence, optional
        Names of the columns.
    normalisation : {"sum", "first"}
        What is set to 0: the sum of the difficulties, or the first item.
    confidence : float
        Of the intervals.

    Returns
    -------
    ConditionalFit or TooLittleEvidence
        Too little: fewer than 10 persons or 2 usable items, or items that the answers
        do not order both ways (forms without a common item among them).

    Raises
    ------
    DataError
        As `right_wrong.answers`.
    """
    check_confidence(confidence)
    if normalisation not in ("sum", "first"):
        raise DataError("normalisation", normalisation, "'sum' or 'first'")
    used, dropped, _ = usable(answers(responses, counts=counts, items=items))
    short = too_few(used, dropped)
    if short is not None:
        return short
    apart = strong_parts(used)
    if len(apart) > 1:
        said = (
            f"The answers fall into {len(apart)} sets of items that no person compares both "
            "ways (right in one, wrong in the other), so there is no common scale."
        )
        return TooLittleEvidence("common items", said, used.n)
    score, met = used.right.sum(axis=1), used.given.sum(axis=1)
    telling = used.part(rows=(score > 0) & (score < met))
    if telling.n < 2:
        said = (
            f"Only {counted(telling.n, 'person', 'people')} with both right and wrong answers; "
            "that is too few."
        )
        return TooLittleEvidence("persons", said, telling.n)
    forms, form = forms_of(telling.given)
    scores = telling.right.sum(axis=1).astype(np.int64)
    solved = telling.counts @ telling.right
    tally: list[tuple[Whole, Floats]] = []
    for one, pattern in enumerate(forms):
        columns = np.flatnonzero(pattern)
        times = np.zeros(len(columns) + 1)
        np.add.at(times, scores[form == one], telling.counts[form == one])
        tally.append((columns, times))

    def evaluate(easiness: Floats) -> tuple[float, Floats, Floats]:
        value, slope = float(solved @ easiness), solved.copy()
        hessian = np.zeros((len(solved), len(solved)))
        for columns, times in tally:
            log_gamma, first, second = _symmetric(easiness[columns], times)
            value -= log_gamma
            slope[columns] -= first
            hessian[np.ix_(columns, columns)] -= second
        # The level of the scale is free. Curvature in its direction keeps the sum where it is.
        level = float(np.trace(-hessian)) / len(solved) ** 2
        hessian -= level
        return value, slope, hessian

    size = len(used.items)
    share = solved / (telling.counts @ telling.given)
    start = np.log((share + 0.01) / (1.01 - share))
    try:
        at, value, information, _ = climb(start - start.mean(), evaluate)
    except ArithmeticError:
        return TooLittleEvidence("maximum", "The answers fit no such scale.", used.n)
    at -= at.mean()
    centre = np.eye(size) - 1.0 / size
    covariance = centre @ np.linalg.inv(information) @ centre
    if normalisation == "first":
        turn = np.eye(size)
        turn[:, 0] -= 1.0
        at, covariance = turn @ at, turn @ covariance @ turn.T
    return ConditionalFit(
        used.items,
        -at,
        np.sqrt(np.maximum(np.diagonal(covariance), 0.0)),
        covariance,
        value,
        telling.n,
        telling.counts @ telling.given,
        normalisation,
        dropped,
        used,
        confidence,
    )


def andersen(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
    split: Literal["mean", "median"] | Sequence[Hashable] = "mean",
) -> LikelihoodRatio | TooLittleEvidence:
    """Test whether items are equally hard, relative to each other, for all groups of persons.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        As for `rasch_conditional`.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs.
    items : sequence, optional
        Names of the columns.
    split : {"mean", "median"} or sequence, shape (persons,)
        Persons above the mean (median) share of right answers against the others, or
        the group of each person.

    Returns
    -------
    LikelihoodRatio or TooLittleEvidence
        Too little: an empty group, or fewer than 2 items that have both right and wrong answers in
        every group. Items without are left out of the whole test.

    Raises
    ------
    DataError
        As `right_wrong.answers`; groups of another length.

    Notes
    -----
    Andersen EB (1973), Psychometrika 38:123-140, from memory. Persons with score 0 or full take
    no part, either in the test or in the median.
    """
    read = answers(responses, counts=counts, items=items)
    labels = split if isinstance(split, str) else np.asarray(split, dtype=object)
    if not isinstance(labels, str) and len(labels) != len(read.counts):
        raise DataError("split", len(labels), f"{len(read.counts)} groups, one for each row")
    while True:
        score, met = read.right.sum(axis=1), read.given.sum(axis=1)
        telling = np.flatnonzero((read.counts > 0) & (score > 0) & (score < met))
        group = labels[telling] if not isinstance(labels, str) else None
        if not len(telling):
            return TooLittleEvidence("persons", "Nobody has both right and wrong answers.")
        if group is None:
            share = (score[telling] / met[telling]).repeat(read.counts[telling].astype(np.int64))
            middle = float(np.median(share) if labels == "median" else share.mean())
            # Equal shares of different forms must not be parted by rounding.
            group = score[telling] / met[telling] > middle + 1e-12
        parts = [read.part(rows=telling[group == one]) for one in dict.fromkeys(group)]
        if len(parts) < 2:
            return TooLittleEvidence("groups", "All people fall into one group.", read.n)
        odd = {item for part in parts for item in usable(part)[1]}
        if not odd:
            break
        read = read.part(columns=np.array([item not in odd for item in read.items], dtype=bool))
        if len(read.items) < 2:
            said = "Fewer than 2 items have both right and wrong answers in every group."
            return TooLittleEvidence("items", said, read.n)
    whole = rasch_conditional(read.part(rows=telling))
    fits = [rasch_conditional(part) for part in parts]
    if isinstance(whole, TooLittleEvidence):
        return whole
    gain = -whole.log_likelihood
    for fit in fits:
        if isinstance(fit, TooLittleEvidence):
            return fit
        gain += fit.log_likelihood
    free = (len(parts) - 1) * (len(read.items) - 1)
    statistic = max(0.0, 2.0 * gain)
    return LikelihoodRatio(statistic, free, float(chi2.sf(statistic, free)), whole.n)


def log_symmetric(easiness: ArrayLike) -> Floats:
    """Return the logarithms of the elementary symmetric functions of ``exp(easiness)``.

    By the summation algorithm in logarithms: no cancelling, no overflow in long tests.

    Returns
    -------
    ndarray of float, shape (items + 1,)
        Orders 0 to the number of items.
    """
    given = numbers_given(easiness, "easiness")
    found = np.full(len(given) + 1, -np.inf)
    found[0] = 0.0
    for number, one in enumerate(given, start=1):
        found[1 : number + 1] = np.logaddexp(found[1 : number + 1], found[:number] + one)
    return found


def _symmetric(easiness: Floats, times: Floats) -> tuple[float, Floats, Floats]:
    """Sum over scores, weighted by `times`: log function, its gradient and its Hessian."""
    size = len(easiness)
    level = float(easiness.mean())
    centred = easiness - level
    orders = np.arange(size + 1)
    value = float(times @ (log_symmetric(centred) + orders * level))
    first, second = np.zeros(size), np.zeros((size, size))
    # An odd number of angles: none is pi, where a fair item's transform is 0.
    angle = 2.0 * np.pi * np.arange((size + 1) | 1) / ((size + 1) | 1)
    wave = np.exp(1j * angle)
    left = times.copy()
    while left.any():
        wanted = int(np.flatnonzero(left)[0])
        chance = expit(centred + _tilt(centred, wanted))
        part = chance[:, None] * wave
        each = 1.0 - chance[:, None] + part
        whole = each.prod(axis=0)
        ratio = part / each
        back = np.exp(-1j * np.outer(orders, angle)) / len(angle)
        likely = (back @ whole).real
        now = np.where(likely > LIKELY, left, 0.0)
        now[wanted] = left[wanted]
        left = left - now
        here = np.flatnonzero(now)
        weighted = back[here] * (whole / likely[here, None])
        given = (ratio @ weighted.T).real
        first += given @ now[here]
        both = ((ratio * (now[here] @ weighted)) @ ratio.T).real
        second += both - (given * now[here]) @ given.T
        # A pair of an item with itself is the item.
        row = np.arange(size)
        second[row, row] += given @ now[here] - both[row, row]
    return value, first, second


def _tilt(easiness: Floats, score: int) -> float:
    """Return the ability at which `score` is expected; the scores 0 and full need no exactness."""
    if score in (0, len(easiness)):
        score_ = 0.5 if score == 0 else len(easiness) - 0.5
    else:
        score_ = float(score)
    at = float(np.log(score_ / (len(easiness) - score_)))
    for _ in range(30):
        chance = expit(easiness + at)
        miss = float(chance.sum()) - score_
        if abs(miss) < 1e-3 * len(easiness):
            break
        at -= float(np.clip(miss / float((chance * (1 - chance)).sum()), -2.0, 2.0))
    return at
