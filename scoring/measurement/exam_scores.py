"""The scores that a cut is laid through, checked, and what bootstrap samples say of a figure."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import (
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import CreditTable, Floats, credit_table, numbers
from scoring.measurement.reliability import SAMPLES

LEAST_PERSONS = 30
"""Persons below which no figure is given: four moments of fewer say next to nothing. A
working judgement, no source."""

Answer = Estimate | TooLittleEvidence


def bootstrap_answer(found: Floats, n: int, confidence: float, samples: int = SAMPLES) -> Answer:
    """Return the first figure with the percentiles of the others, which are bootstrap samples."""
    value = float(found[0])
    if not math.isfinite(value):
        return TooLittleEvidence("both outcomes", "Nobody stands on one side of the cut.", n)
    drawn = found[1:][np.isfinite(found[1:])]
    # Where half of the samples allow no fit, their percentiles are those of a chosen part.
    if samples == 0 or len(drawn) < samples / 2:
        return Estimate(value, None, None, n, confidence)
    tail = (1 - confidence) / 2
    low, high = (float(end) for end in np.quantile(drawn, (tail, 1 - tail)))
    return Estimate(value, min(low, value), max(high, value), n, confidence)


def few_persons(n: int) -> TooLittleEvidence:
    """Return that there are too few persons."""
    return TooLittleEvidence(
        "persons", f"Only {counted(n, 'person', 'people')}; at least {LEAST_PERSONS} are needed.", n
    )


def exam_scores(
    scores: ArrayLike | CreditTable, minimum: float, maximum: float | None
) -> tuple[Floats, Floats | None, float]:
    """Return totals, the credits if there are any, and the largest possible total."""
    credit: Floats | None = None
    if isinstance(scores, CreditTable) or np.ndim(np.asarray(scores)) == 2:
        credit = credit_table(scores).complete()
        given = credit.sum(axis=1)
        top = float(credit.shape[1]) if maximum is None else float(maximum)
    else:
        if maximum is None:
            raise ValueError("maximum (items): wanted with totals")
        given = numbers(scores, "score", missing=True)
        given, top = given[~np.isnan(given)], float(maximum)
    if not minimum < top < np.inf:
        raise DataError("maximum", top, f"above {minimum:g}")
    odd = np.flatnonzero((given < minimum - 1e-9) | (given > top + 1e-9))
    if odd.size:
        raise DataError("score", float(given[odd[0]]), f"from {minimum:g} to {top:g}")
    return given, credit, top


def check_cut(
    cut: float, minimum: float, maximum: float, reliability: float | None, confidence: float
) -> None:
    """Raise unless the cut lies on the scale and the coefficients between 0 and 1."""
    check_confidence(confidence)
    if not minimum <= cut <= maximum:
        raise DataError("cut", cut, f"from {minimum:g} to {maximum:g}")
    if reliability is not None and not 0 < reliability < 1:
        raise DataError("reliability", reliability, "between 0 and 1")
