"""How much each step depends on who, from right and wrong decisions and from measures.

A share of points is easy to grasp but bends near 0 and 100 %. The model of right and
wrong decisions does not, and it tells what a manager can picture: the rates of a strong
and of a weak operator.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.answer_cells import answer_cells, by_operator, handed_in
from scoring.cohort.sampled import fitted_rows
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.model import Station
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_intervals import no_difference, profile_sd
from scoring.variation.detection_between import DetectionBetween, detection_between
from scoring.variation.large_sample import (
    is_large,
    large_sample_difference,
    large_sample_range,
    large_sample_sd,
)
from scoring.variation.odds import (
    PopulationRange,
    latent_correlation,
    median_odds_ratio,
    population_range,
)
from scoring.variation.two_way import TwoWay, lay_out

MEASURES: tuple[tuple[str, str], ...] = (
    ("seconds", "time taken"),
    ("residual", "protein left"),
)
"""Measured outcomes of a scenario. Both are skewed and above 0, so their logarithm is used."""

LEAST_FITTED = 5
"""Fewer operators than this give no model of a step: as for the share of the score. A working
judgement, no source."""

MOST_DETECTED = 150
"""Operators that the model of looking is fitted to; of more, every so-manieth by code is taken,
since the fit's cost grows with people and its answer hardly changes. A working judgement."""

CONFIDENCES = (0.05, 0.3, 0.55, 0.8, 0.95, 0.995)
"""Intervals whose ends give the whole distribution of what a share may be. An assumption."""

GRID = 400
"""Points of that distribution at which two steps are compared; more change the third decimal."""

SURELY = 0.975
"""Probability from which one step is said to vary more than another: a two-sided 95 %. The
usual convention; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Measured:
    """How much of one measured outcome lies between operators.

    Attributes
    ----------
    name : str
        In words.
    between : BetweenShare or TooLittleEvidence
        Of the base-10 logarithm, scenarios held apart.
    """

    name: str
    between: BetweenShare | TooLittleEvidence


@dataclass(frozen=True, slots=True)
class StepVariation:
    """What right and wrong decisions say of one step.

    Attributes
    ----------
    station : Station
    fit : BinomialFit or TooLittleEvidence
        Success is a decision of full credit.
    answers, operators : int
        Decisions and people behind it; of very many operators a sample, see
        :mod:`scoring.cohort.sampled`.
    odds_ratio, latent : Estimate or None
        Median odds ratio, and latent correlation of two answers to one scenario.
    range : PopulationRange or None
        Rates of wrong decisions of a strong (10th percentile) and a weak operator (90th).
    p_value : float or None
        Test that operators do not differ.
    measured : tuple of Measured
        Outcomes that this cohort has.
    detection : DetectionBetween, TooLittleEvidence or None
        Of looking for soil; None where nothing is looked at.
    detected : int
        Operators behind `detection`.
    """

    station: Station
    fit: BinomialFit | TooLittleEvidence
    answers: int
    operators: int
    odds_ratio: Estimate | None
    latent: Estimate | None
    range: PopulationRange | None
    p_value: float | None
    measured: tuple[Measured, ...]
    detection: DetectionBetween | TooLittleEvidence | None
    detected: int


def step_variation(table: CohortTable) -> tuple[StepVariation, ...]:
    """Return what the decisions say of each step met, in the order of the work."""
    fitted = fitted_rows(handed_in(table))
    return tuple(
        _step(station, handed_in(table, station), fitted[fitted["station"] == station])
        for station in table.stations_met()
    )


def _step(station: Station, rows: pd.DataFrame, fitted: pd.DataFrame) -> StepVariation:
    cells = answer_cells(fitted)
    fit = fit_binomial(
        cells["right"],
        cells["assessed"],
        groups={"operator": cells["operator"], "scenario": cells["scenario"]},
        least_levels=2,
    )
    operators = int(cells["operator"].nunique())
    if operators < LEAST_FITTED:
        people = "1 operator" if operators == 1 else f"{operators} operators"
        said = f"Only {people}; at least {LEAST_FITTED} are needed."
        fit = TooLittleEvidence("operators", said, operators)
    odds_ratio = latent = spread = p_value = None
    if isinstance(fit, BinomialFit):
        large = is_large(fit)
        spread = large_sample_range(fit) if large else population_range(fit)
        sd = large_sample_sd(fit) if large else profile_sd(fit, "operator")
        odds_ratio = _on(sd, lambda value: median_odds_ratio(value**2))
        latent = _on(sd, lambda value: latent_correlation(value**2))
        test = large_sample_difference(fit) if large else no_difference(fit, "operator")
        p_value = test.p_value
    detection, detected = _detection(cells)
    return StepVariation(
        station=station,
        fit=fit,
        answers=int(cells["assessed"].sum()),
        operators=operators,
        odds_ratio=odds_ratio,
        latent=latent,
        range=spread,
        p_value=p_value,
        measured=_measured(rows),
        detection=detection,
        detected=detected,
    )


def _on(sd: Estimate, scale: Callable[[float], float]) -> Estimate:
    low, high = (None if end is None else scale(end) for end in (sd.low, sd.high))
    return Estimate(scale(sd.value), low, high, sd.n, sd.confidence)


def _measured(rows: pd.DataFrame) -> tuple[Measured, ...]:
    found = []
    for column, name in MEASURES:
        kept = rows[rows[column] > 0]
        if len(kept):
            logs = np.log10(kept[column].to_numpy(dtype=float))
            layout = lay_out(kept["operator"], kept["scenario"], logs)
            found.append(Measured(name, between_share(layout)))
    return tuple(found)


def _detection(cells: pd.DataFrame) -> tuple[DetectionBetween | TooLittleEvidence | None, int]:
    answers = ["hits", "misses", "false_alarms", "correct_rejections"]
    people = by_operator(cells)[answers]
    people = people[people.sum(axis=1) > 0]
    if people.empty:
        return None, 0
    people = people.iloc[:: -(-len(people) // MOST_DETECTED)]
    found = detection_between(
        people["hits"],
        people["misses"],
        people["false_alarms"],
        people["correct_rejections"],
        list(people.index),
    )
    return found, len(people)


def likeliest_to_vary_most(layouts: Mapping[Station, TwoWay]) -> dict[Station, float]:
    """Return, for each step, the probability that its share between operators is the largest.

    Parameters
    ----------
    layouts : mapping of Station to TwoWay
        Scores of each step; steps without a share are left out.

    Returns
    -------
    dict of Station to float
        They add up to 1. Empty for fewer than two steps with a share.

    Notes
    -----
    The exact intervals of a share at rising confidence are the quantiles of its confidence
    distribution; those of different steps are taken as independent. Two steps of equal shares
    are told apart in at most about 5 % of departments (see the tests). Confidence
    distributions: Schweder T, Hjort NL (2002), Scand J Stat 29:309-332, from memory.
    """
    middles = (np.arange(GRID) + 0.5) / GRID
    draws: dict[Station, npt.NDArray[np.float64]] = {}
    for station, layout in layouts.items():
        known = [(c, between_share(layout, c)) for c in CONFIDENCES]
        ends = sorted(
            {
                (tail, end)
                for c, share in known
                if isinstance(share, BetweenShare)
                for tail, end in ((0.5 - c / 2, share.low), (0.5 + c / 2, share.high))
            }
        )
        if ends:
            tails, values = zip(*ends, strict=True)
            draws[station] = np.interp(middles, tails, np.maximum.accumulate(values))
    if len(draws) < 2:
        return {}
    return _largest(draws)


def _largest(draws: Mapping[Station, npt.NDArray[np.float64]]) -> dict[Station, float]:
    found = {}
    for station, own in draws.items():
        below = np.ones(len(own))
        for other, theirs in draws.items():
            if other != station:
                ranked = np.sort(theirs)
                # Ties, as at a share of 0, count as half.
                low = np.searchsorted(ranked, own, side="left")
                below *= (low + np.searchsorted(ranked, own, side="right")) / 2 / len(ranked)
        found[station] = float(below.mean())
    total = sum(found.values())
    return {station: value / total for station, value in found.items()} if total else found
