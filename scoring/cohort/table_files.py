"""The tables of a cohort as CSV files that a spreadsheet opens safely."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from scoring.cohort.frequent import FrequentMistake
from scoring.cohort.outcome import VERDICTS, StationOutcome
from scoring.model import Station
from scoring.variation.between import BetweenShare

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
"""A text cell that starts with one of these is run as a formula by common spreadsheets."""

Row = Sequence[object]


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


def csv_bytes(head: Row, rows: Iterable[Row]) -> bytes:
    """Return a table as CSV in UTF-8, with the mark by which spreadsheets know UTF-8."""
    target = io.StringIO()
    writer = csv.writer(target, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([cell(value) for value in row] for row in rows)
    return target.getvalue().encode("utf-8-sig")


def cell(value: object) -> str:
    """Return one cell: empty for None, four decimals for a fraction, text that no sheet runs."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4f}"
    if isinstance(value, int):
        return str(value)
    text = str(value)
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _step_row(outcome: StationOutcome) -> Row:
    between = outcome.between
    if isinstance(between, BetweenShare):
        return (outcome.station, between.share, between.low, between.high, between.operators,
                between.sittings, "")  # fmt: skip
    return (outcome.station, None, None, None, between.operators, between.sittings, between.said)


def _result_row(outcome: StationOutcome) -> Row:
    critical = outcome.critical
    return (
        outcome.station, outcome.mean, outcome.low, outcome.high, outcome.operators,
        outcome.sittings, *(outcome.verdicts[verdict] for verdict in VERDICTS),
        outcome.critical_operators, round(critical.n) if critical else 0,
        critical.low if critical else None, critical.high if critical else None,
    )  # fmt: skip
