"""The tables of the steps to take away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.cohort.frequent import FrequentMistake
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.cohort.section import Sheet
from scoring.cohort.step_risk import StepRisk
from scoring.cohort.step_variation import StepVariation
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.model import Station
from scoring.spreadsheet import Row
from scoring.variation.between import BetweenShare


def step_sheets(
    outcomes: Sequence[StationOutcome],
    mistakes: Mapping[Station, Sequence[FrequentMistake]],
    steps: Sequence[StepVariation],
    risks: Sequence[StepRisk],
) -> tuple[Sheet, ...]:
    """Return the tables of the steps; shares are numbers from 0 to 1.

    Parameters
    ----------
    outcomes : sequence of StationOutcome
    mistakes : mapping of Station to sequence of FrequentMistake
        All of them, not only those that the page shows.
    steps : sequence of StepVariation
    risks : sequence of StepRisk
    """
    return (
        Sheet(
            "steps",
            ("step", "share_between_operators", "low", "high", "operators", "sittings", "missing"),
            tuple(_step_row(outcome) for outcome in outcomes),
        ),
        Sheet(
            "decisions",
            ("step", "decisions", "operators", "median_odds_ratio", "odds_ratio_low",
             "odds_ratio_high", "latent_correlation", "latent_low", "latent_high",
             "share_wrong_strong", "strong_low", "strong_high", "share_wrong_weak", "weak_low",
             "weak_high", "p_no_difference", "missing"),
            tuple(_decision_row(step) for step in steps),
        ),
        Sheet(
            "risk",
            ("step", "severity_per_100_decisions", "low", "high", "operators", "mistakes",
             "decisions"),
            tuple(
                (risk.station, *_three(risk.weighted), risk.weighted.n if risk.weighted else 0,
                 risk.mistakes, risk.decisions)
                for risk in risks
            ),
        ),
        Sheet(
            "results",
            ("step", "mean_share_of_points", "low", "high", "operators", "sittings",
             *(f"sittings_{verdict.replace(' ', '_')}" for verdict in VERDICTS),
             "operators_critical", "operators_judged", "critical_low", "critical_high"),
            tuple(_result_row(outcome) for outcome in outcomes),
        ),
        Sheet(
            "scores",
            ("operator", "step", "mean_share_of_points", "low", "high", "sittings",
             "enough_evidence"),
            tuple(
                (person.operator, outcome.station, person.mean, person.low, person.high,
                 person.sittings, "yes" if person.enough else "no")
                for outcome in outcomes
                for person in outcome.people
            ),
        ),
        Sheet(
            "mistakes",
            ("step", "mistake", "text", "severity", "operators", "operators_judged", "share",
             "low", "high", "sittings", "times", "right_action"),
            tuple(
                (m.station, m.mistake, m.text, m.severity, m.operators, round(m.share.n),
                 m.share.estimate, m.share.low, m.share.high, m.sittings, m.times, m.right_action)
                for station in mistakes.values()
                for m in station
            ),
        ),
    )  # fmt: skip


def _three(found: Estimate | None) -> tuple[float | None, float | None, float | None]:
    return (found.value, found.low, found.high) if found else (None, None, None)


def _decision_row(step: StepVariation) -> Row:
    spread = step.range
    return (
        step.station, step.answers, step.operators, *_three(step.odds_ratio),
        *_three(step.latent), *_three(spread.lower if spread else None),
        *_three(spread.upper if spread else None), step.p_value,
        step.fit.said if isinstance(step.fit, TooLittleEvidence) else "",
    )  # fmt: skip


def _step_row(outcome: StationOutcome) -> Row:
    between = outcome.between
    if isinstance(between, BetweenShare):
        return (outcome.station, between.share, between.low, between.high, outcome.operators,
                outcome.sittings, "")  # fmt: skip
    return (outcome.station, None, None, None, outcome.operators, outcome.sittings, between.said)


def _result_row(outcome: StationOutcome) -> Row:
    critical = outcome.critical
    return (
        outcome.station, outcome.mean, outcome.low, outcome.high, outcome.operators,
        outcome.sittings, *(outcome.verdicts[verdict] for verdict in VERDICTS),
        outcome.critical_operators, round(critical.n) if critical else 0,
        critical.low if critical else None, critical.high if critical else None,
    )  # fmt: skip
