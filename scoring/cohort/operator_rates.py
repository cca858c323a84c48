"""Each operator's rate of wrong decisions: adjusted, against the limit, and beside the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.cohort.answer_cells import answer_cells, by_operator, handed_in
from scoring.cohort.sampled import fitted_rows
from scoring.cohort.step_variation import StepVariation
from scoring.cohort.table import CohortTable
from scoring.evidence import TooLittleEvidence
from scoring.model import Station
from scoring.variation.adjusted_rates import AdjustedRate, OperatorRates, Verdict, adjusted_rates
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.funnel import LEVELS, Funnel, funnel

MOST_BY_STEP = 200
"""Operators up to whom each is also set against the limit step by step; of more, nobody could
talk with all. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class OperatorStudy:
    """All operators.

    Attributes
    ----------
    rates : OperatorRates or TooLittleEvidence
        Of wrong decisions at all steps together; of very many operators a sample, see
        :mod:`scoring.cohort.sampled`.
    funnel : Funnel or TooLittleEvidence
        The raw counts against the cohort's own rate, limits widened to what
        operators vary beyond chance (additive).
    plain : dict of str to (int, int)
        Wrong and answered decisions of each code, sorted by code.
    flagged : dict of str to tuple of Station
        Steps at which the evidence says that a code is above the limit; empty for more than
        `MOST_BY_STEP` operators.
    limit : float or None
        Highest rate of wrong decisions that the site's cut leaves.
    """

    rates: OperatorRates | TooLittleEvidence
    funnel: Funnel | TooLittleEvidence
    plain: dict[str, tuple[int, int]]
    flagged: dict[str, tuple[Station, ...]]
    limit: float | None

    def outside(self) -> tuple[str, ...]:
        """Return the codes above the wider funnel limit, sorted."""
        if isinstance(self.funnel, TooLittleEvidence):
            return ()
        return tuple(
            point.unit
            for point in self.funnel.points
            if point.side == "above" and point.beyond >= LEVELS[-1]
        )

    def judged(self, verdict: Verdict) -> tuple[AdjustedRate, ...]:
        """Return those of one verdict at all steps together, sorted by code."""
        if isinstance(self.rates, TooLittleEvidence):
            return ()
        return tuple(one for one in self.rates.operators if one.verdict is verdict)


def operator_study(
    table: CohortTable, steps: Sequence[StepVariation], limit: float | None
) -> OperatorStudy:
    """Return every operator's rate.

    Parameters
    ----------
    table : CohortTable
    steps : sequence of StepVariation
        Their fits are used again.
    limit : float or None
        Between 0 and 1; without one there is no verdict.

    Notes
    -----
    In each list of flags the expected share of wrong ones is held to 5 %, and therefore in
    all lists together.
    """
    rows = handed_in(table)
    cells = answer_cells(fitted_rows(rows))
    fit = fit_binomial(
        cells["right"],
        cells["assessed"],
        groups={"operator": cells["operator"], "scenario": cells["scenario"]},
        least_levels=2,
    )
    people = by_operator(rows)
    wrong = people["assessed"] - people["right"]
    flagged: dict[str, list[Station]] = {}
    for step in steps:
        if limit is not None and len(people) <= MOST_BY_STEP and isinstance(step.fit, BinomialFit):
            for one in adjusted_rates(step.fit, limit).operators:
                if one.verdict is Verdict.WORSE:
                    flagged.setdefault(one.operator, []).append(step.station)
    return OperatorStudy(
        rates=fit if isinstance(fit, TooLittleEvidence) else adjusted_rates(fit, limit),
        funnel=funnel(
            wrong.to_numpy(), people["assessed"].to_numpy(), list(people.index),
            overdispersion="additive",
        ),
        plain={
            str(code): (int(bad), int(n))
            for code, bad, n in zip(people.index, wrong, people["assessed"], strict=True)
        },
        flagged={code: tuple(stations) for code, stations in sorted(flagged.items())},
        limit=limit,
    )  # fmt: skip
