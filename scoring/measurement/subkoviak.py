"""Consistency of pass and fail from each person's own chance to pass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betainc  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, TooLittleEvidence
from scoring.measurement.credit_table import CreditTable
from scoring.measurement.decision_figures import least_right
from scoring.measurement.exam_scores import (
    LEAST_PERSONS,
    Answer,
    bootstrap_answer,
    check_cut,
    exam_scores,
    few_persons,
)
from scoring.measurement.reliability import SAMPLES


@dataclass(frozen=True, slots=True)
class Subkoviak:
    """Consistency from each person's own chance to pass.

    Attributes
    ----------
    consistency, kappa : Estimate or TooLittleEvidence
    n : int
        Persons.
    """

    consistency: Answer
    kappa: Answer
    n: int


def subkoviak(
    scores: ArrayLike | CreditTable,
    cut: float,
    *,
    reliability: float,
    items: int | None = None,
    confidence: float = CONFIDENCE,
    samples: int = SAMPLES,
    seed: int | np.random.Generator = 0,
) -> Subkoviak | TooLittleEvidence:
    """Return the consistency of pass and fail from each person's chance to pass.

    Parameters
    ----------
    scores : array-like, shape (persons,) or (persons, items)
        Number right, or right/wrong answers.
    cut : float
        Number right that passes.
    reliability : float
        Pulls each share towards the mean (Kelley), 0 to 1: KR-20 or alpha.
    items : int, optional
        Needed with totals.
    confidence, samples, seed
        Bootstrap over persons, `reliability` as known.

    Notes
    -----
    ``mean of P**2 + (1 - P)**2`` with binomial P; Subkoviak MJ (1976), J Educ Meas
    13:265-276, from memory.
    """
    given, _, top = exam_scores(scores, 0.0, None if items is None else float(items))
    check_cut(cut, 0.0, top, None, confidence)
    if not 0 <= reliability <= 1:
        raise DataError("reliability", reliability, "from 0 to 1")
    n = len(given)
    if n < LEAST_PERSONS:
        return few_persons(n)
    values, counts = np.unique(given / top, return_counts=True)
    random = np.random.default_rng(seed)
    drawn = random.multinomial(n, counts / n, size=max(samples, 0)) / n
    weights = np.vstack((counts / n, drawn))
    middle = weights @ values
    share = reliability * values[None, :] + (1 - reliability) * middle[:, None]
    needed = float(least_right(np.array([top]), cut / top)[0])
    chance = np.ones_like(share) if needed <= 0 else betainc(needed, top - needed + 1, share)
    passing = (weights * chance).sum(axis=1)
    agree = (weights * (chance**2 + (1 - chance) ** 2)).sum(axis=1)
    by_chance = passing**2 + (1 - passing) ** 2
    room = 1 - by_chance
    kappa = np.where(room > 1e-12, (agree - by_chance) / np.where(room > 1e-12, room, 1), np.nan)
    return Subkoviak(
        bootstrap_answer(agree, n, confidence), bootstrap_answer(kappa, n, confidence), n
    )
