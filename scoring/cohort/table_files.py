"""The tables of a cohort as CSV files that a spreadsheet opens safely."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scoring.cohort.frequent import FrequentMistake
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.model import Station
from scoring.spreadsheet import Row, csv_bytes
from scoring.variation.between import BetweenShare


def table_files(
    outcomes: Sequence[StationOutcome], mistakes: Mapping[Station, Sequence[FrequentMistake]]
) -> dict[str, bytes]:
    """Return the content of each table file by name; shares are numbers from 0 to 1.

    Parameters
    ----------
    outcomes : sequence of StationOutcome
    mistakes : mapping of Station to sequence of FrequentMistake
        All of them, not only those that the page shows.
    """
    return {
        "steps.csv": csv_bytes(
            ("step", "share_between_operators", "low", "high", "operators", "sittings", "missing"),
            (_step_row(outcome) for outcome in outcomes),
        ),
        "results.csv": csv_bytes(
            ("step", "mean_share_of_points", "low", "high", "operators", "sittings",
             *(f"sittings_{verdict.replace(' ', '_')}" for verdict in VERDICTS),
             "operators_critical", "operators_judged", "critical_low", "critical_high"),
            (_result_row(outcome) for outcome in outcomes),
        ),
        "operators.csv": csv_bytes(
            ("operator", "step", "mean_share_of_points", "low", "high", "sittings",
             "enough_evidence"),
            (
                (person.operator, outcome.station, person.mean, person.low, person.high,
                 person.sittings, "yes" if person.enough else "no")
                for outcome in outcomes
                for person in outcome.people
            ),
        ),
        "mistakes.csv": csv_bytes(
            ("step", "mistake", "text", "severity", "operators", "operators_judged", "share",
             "low", "high", "sittings", "times", "right_action"),
            (
                (m.station, m.mistake, m.text, m.severity, m.operators, round(m.share.n),
                 m.share.estimate, m.share.low, m.share.high, m.sittings, m.times, m.right_action)
                for station in mistakes.values()
                for m in station
            ),
        ),
    }  # fmt: skip


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
