"""Each operator's mean over equally hard forms, with an interval that one person can bear.

A handful of sittings says little of the spread of one person's own scores, so
the spread is pooled over all operators.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as t_distribution  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, check_confidence
from scoring.variation.between import LEAST_RESIDUAL_DF, NO_DIFFERENCE
from scoring.variation.two_way import TwoWay

LEAST_SITTINGS = 3
"""An operator with fewer sittings is "too little evidence". With two, the interval of a
typical station spans more than a third of the scale. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class OperatorMean:
    """One operator's mean share of points.

    Attributes
    ----------
    operator : str
        Operator code.
    mean : float
        Mean score over equally hard forms, in the unit of the score.
    low, high : float or None
        Its interval, cut to `scale`; None when nothing can be said of the spread.
    sittings : int
        Sittings it rests on.
    enough : bool
        False means "too little evidence": do not judge this person by it.
    """

    operator: str
    mean: float
    low: float | None
    high: float | None
    sittings: int
    enough: bool


def operator_means(
    layout: TwoWay,
    scale: tuple[float, float] = (0.0, 1.0),
    confidence: float = CONFIDENCE,
) -> tuple[OperatorMean, ...]:
    """Return every operator's mean, sorted by code and never by result.

    Parameters
    ----------
    layout : TwoWay
        Scores of one station.
    scale : tuple of float
        Lowest and highest possible score; means and intervals are cut to it.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    tuple of OperatorMean

    Raises
    ------
    ValueError
        `confidence` is outside its range.

    Notes
    -----
    Least-squares means of the additive two-way layout, forms weighted equally,
    with the pooled residual variance and Student's t. Exact for normal scores of
    equal spread. Common practice; checked by simulation and against a dense solution.

    Operators and forms that no sitting links cannot be compared by any method: then each
    linked group is placed as if its forms were, on average, as hard as everybody's.
    """
    check_confidence(confidence)
    per_operator = layout.counts.sum(axis=1)
    mix = layout.counts / per_operator[:, None] - 1.0 / max(1, len(layout.forms))
    means = layout.means - mix @ layout.form_effects
    # A spread of nothing would claim certainty where a ceiling hides the differences.
    known = (
        layout.residual_df >= LEAST_RESIDUAL_DF
        and layout.residual_ss > NO_DIFFERENCE * layout.sittings * max(map(abs, scale)) ** 2
    )
    half = np.full(len(means), np.nan)
    if known:
        residual = layout.residual_ss / layout.residual_df
        unit_variance = 1.0 / per_operator + np.einsum(
            "ij,jk,ik->i", mix, layout.form_covariance, mix
        )
        quantile = float(t_distribution.ppf(0.5 + confidence / 2, layout.residual_df))
        half = quantile * np.sqrt(residual * unit_variance)
    lowest, highest = scale
    ends = [
        np.clip(found, lowest, highest).tolist() for found in (means, means - half, means + half)
    ]
    return tuple(
        OperatorMean(
            operator=operator,
            mean=mean,
            low=low if known else None,
            high=high if known else None,
            sittings=int(sittings),
            enough=bool(known and sittings >= LEAST_SITTINGS),
        )
        for operator, mean, low, high, sittings in zip(
            layout.operators, *ends, per_operator.tolist(), strict=True
        )
    )
