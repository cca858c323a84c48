"""How much of the differences in score lies between operators, and how sure that is.

One figure a station: of all variance among sittings of the same form, the share
that stays with the person. The rest is the same person doing differently from
one sitting to the next, form by form, and chance. Components by REML and models
for pass/fail are modules of their own beside this one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.stats import f as f_distribution  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, TooLittleEvidence, check_confidence
from scoring.variation.two_way import TwoWay

LEAST_OPERATORS = 5
"""Fewer operators than this give no figure: with four, the interval of a share that is truly
one half covers nearly the whole scale. A working judgement, no source."""

LEAST_RESIDUAL_DF = 10
"""Fewer residual degrees of freedom than this give no figure, for the same reason (five
operators on three and a half forms). A working judgement, no source."""

NO_DIFFERENCE = 1e-12
"""A sum of squares below this part of the scale's square is rounding, not difference:
double precision keeps about 16 digits, squared differences about 12 of them safely."""

Missing = Literal["sittings", "operators", "links", "repeats", "difference", "within"]


@dataclass(frozen=True, slots=True)
class BetweenShare:
    """The share of variance between operators, with its interval.

    Attributes
    ----------
    share, low, high : float
        Estimate and interval, 0 to 1. An estimate below 0 is given as 0.
    confidence : float
        Confidence of the interval.
    operators, forms, sittings : int
        What it rests on.
    variance_between, variance_within : float
        The two components, in the unit of the score squared.
    below_zero : bool
        The estimate was below 0 before it was cut: operators were, if anything,
        more alike than chance alone makes them.
    """

    share: float
    low: float
    high: float
    confidence: float
    operators: int
    forms: int
    sittings: int
    variance_between: float
    variance_within: float
    below_zero: bool


def between_share(
    layout: TwoWay, confidence: float = CONFIDENCE
) -> BetweenShare | TooLittleEvidence:
    """Estimate the share of variance that lies between operators.

    Parameters
    ----------
    layout : TwoWay
        Scores of one station by operator and form; missing and repeated cells
        are allowed.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    BetweenShare or TooLittleEvidence

    Raises
    ------
    ValueError
        `confidence` is outside its range.

    Notes
    -----
    Model: ``score = form (fixed) + operator (random) + rest (random)``. With
    every operator on every form the estimate is ICC(3,1) of Shrout PE, Fleiss JL
    (1979), Psychol Bull 86:420-428, the consistency coefficient ICC(C,1) of
    McGraw KO, Wong SP (1996), Psychol Methods 1:30-46, and the interval is their
    exact F interval. With missing or repeated cells it is the exact interval of
    Wald A (1947), Ann Math Stat 18:586-589, as extended to form effects by Seely
    JF, El-Bassiouni Y (1983), Ann Stat 11:197-201: the pivot ``W(ratio)`` has an F
    distribution at the true ratio of the variances. The estimate is the ratio at
    which the pivot equals 1, which is the analysis-of-variance estimate when the
    layout is balanced. Sources from memory; checked against the published table
    of Shrout and Fleiss and by simulation (see the tests).

    Where the estimate is below 0 the upper end is that of an estimate of exactly 0,
    which is never narrower than the exact one, so coverage can only rise.

    Exact for normal scores. Scores pressed against 0 or 1 are not normal, and the
    interval is then approximate.
    """
    check_confidence(confidence)
    missing = _too_little(layout)
    if missing is not None:
        return missing
    residual = layout.residual_ss / layout.residual_df
    pivot = _pivot(layout, residual)
    tail = (1 - confidence) / 2
    quantile = f_distribution(layout.operator_df, layout.residual_df).ppf
    share = _share_where(pivot, 1.0)
    # Below an estimate of 0 the exact upper end shrinks to nothing, as if the data were sure.
    least = min(1.0, pivot(0.0))
    return BetweenShare(
        share=share,
        low=_share_where(pivot, float(quantile(1 - tail))),
        high=_share_where(pivot, float(quantile(tail)) * least),
        confidence=confidence,
        operators=len(layout.operators),
        forms=len(layout.forms),
        sittings=layout.sittings,
        variance_between=residual * share / (1 - share),
        variance_within=residual,
        below_zero=least < 1.0,
    )


def _too_little(layout: TwoWay) -> TooLittleEvidence | None:
    operators, sittings = len(layout.operators), layout.sittings

    def short(missing: Missing, said: str) -> TooLittleEvidence:
        return TooLittleEvidence(missing, said, operators)

    if sittings == 0:
        return short("sittings", "Nobody has finished this station yet.")
    spread = layout.scores - layout.scores.mean()
    scale = max(1.0, float(np.abs(layout.scores).max())) ** 2 * sittings
    if operators < LEAST_OPERATORS:
        people = "1 operator" if operators == 1 else f"{operators} operators"
        return short("operators", f"Only {people}; at least {LEAST_OPERATORS} are needed.")
    if float(spread @ spread) <= NO_DIFFERENCE * scale:
        return short("difference", "Every sitting has the same score, so nothing differs.")
    if layout.operator_df < LEAST_OPERATORS - 1:
        return short(
            "links",
            "Too few operators have sat the same forms, so people cannot be told from forms.",
        )
    if layout.residual_df < LEAST_RESIDUAL_DF:
        return short(
            "repeats",
            "Too few operators have sat more than one form, so a person's own ups and downs "
            "cannot be told from differences between people.",
        )
    if layout.residual_ss <= NO_DIFFERENCE * scale:
        return short(
            "within",
            "Each operator has the same score on every form, so there are no ups and downs to "
            "compare with. Check that the sittings were not copied.",
        )
    return None


def _pivot(layout: TwoWay, residual: float) -> Callable[[float], float]:
    """Return Wald's pivot as a function of the ratio of between to within variance.

    The quadratic form is evaluated with each operator's block inverted in closed
    form. Operators of equally many scores are summed beforehand, so one evaluation
    costs a system as large as the number of forms for each such number, and never one
    as large as the number of operators.
    """
    counts = layout.counts
    per_operator, kind = np.unique(counts.sum(axis=1), return_inverse=True)
    per_form = counts.sum(axis=0)
    y = layout.scores - layout.scores.mean()
    sums = np.bincount(layout.operator_index, y, len(counts))
    apart = [np.flatnonzero(kind == k) for k in range(len(per_operator))]
    crossed = np.stack([counts[own].T @ counts[own] for own in apart])
    form_side = np.stack([counts[own].T @ sums[own] for own in apart])
    sums_squared = np.bincount(kind, sums**2, len(per_operator))
    form_sums = np.bincount(layout.form_index, y, len(per_form))
    squares = float(y @ y)

    def pivot(ratio: float) -> float:
        pull = ratio / (1.0 + ratio * per_operator)
        matrix = np.diag(per_form) - np.tensordot(pull, crossed, 1)
        side = form_sums - pull @ form_side
        total = squares - float(pull @ sums_squared)
        explained = float(side @ np.linalg.solve(matrix, side))
        between = max(0.0, total - explained - layout.residual_ss)
        return between / layout.operator_df / residual

    return pivot


def _share_where(pivot: Callable[[float], float], target: float) -> float:
    """Return the share at which the falling pivot meets `target`; 0 when it starts below."""
    if pivot(0.0) <= target:
        return 0.0

    def gap(share: float) -> float:
        return pivot(share / (1.0 - share)) - target

    # Beyond this the ratio is a thousand million, which prints as 100 %.
    last = 1.0 - 1e-9
    return last if gap(last) >= 0 else float(brentq(gap, 0.0, last, xtol=1e-10))
