"""Counts for charts: what is used, what is left out and what is refused."""

from __future__ import annotations

import math
from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest

from scoring.evidence import DataError
from scoring.variation.event_counts import event_counts


def test_points_without_data_are_left_out() -> None:
    held = event_counts([1, math.nan, 3, 0], [10, 10, None, 0], ["a", "b", "c", "d"])
    assert held.labels == ("a",)
    assert held.left_out == ("b", "c", "d")


def test_columns_of_a_table_are_read() -> None:
    table = pd.DataFrame(
        {"failed": [1, 2], "n": [5, 6], "day": pd.to_datetime(["2026-01-02", "2026-01-03"])}
    )
    held = event_counts(table["failed"], table["n"], times=table["day"])
    assert held.events.tolist() == [1, 2]
    assert held.labels == ("2026-01-02T00:00:00", "2026-01-03T00:00:00")


def test_numpys_dates_are_read() -> None:
    days = np.array(["2026-01-02", "2026-01-03"], dtype="datetime64[D]")
    assert event_counts([1, 2], 5, times=days).labels == ("2026-01-02", "2026-01-03")  # type: ignore[arg-type]
    minutes = event_counts([1, 2], 5, times=days.astype("datetime64[ns]"))  # type: ignore[arg-type]
    assert minutes.labels == ("2026-01-02T00:00:00", "2026-01-03T00:00:00")


def test_dates_out_of_order_are_refused_by_row_or_sorted() -> None:
    days = [date(2026, 1, 1), date(2026, 3, 1), date(2026, 2, 1)]
    with pytest.raises(DataError, match=r"row 3.*2026-02-01.*not before row 2"):
        event_counts([1, 2, 3], 10, times=days)
    held = event_counts([1, 2, 3], 10, times=days, sort=True)
    assert held.events.tolist() == [1, 3, 2]
    assert held.times == tuple(sorted(days))


def test_two_points_of_one_day_are_numbered() -> None:
    assert event_counts([1, 2], 10, times=[date(2026, 1, 1)] * 2).labels == ("1", "2")


@pytest.mark.parametrize(
    ("events", "n", "options"),
    [
        ([1, -1], 10, {}),
        ([1, math.inf], 10, {}),
        ([1, 1.5], 10, {}),
        ([1, 11], 10, {}),
        ([1, 2], [10, 9.5], {}),
        ([1, 2], [10, math.inf], {}),
        ([1, 2], [10, 0], {}),
        ([1, 2], [10, 10, 10], {}),
        (["x", 2], 10, {}),
        ([[1, 2]], 10, {}),
        ([1, 2], 10, {"labels": ["a", "a"]}),
        ([1, 2], 10, {"labels": ["a"]}),
        ([1, 2], 10, {"times": [date(2026, 1, 1)]}),
        ([1, 2], 10, {"times": ["2026-01-01", "2026-01-02"]}),
        ([1, 2], 10, {"times": np.array(["2026-01-01", "NaT"], dtype="datetime64[D]")}),
        ([1, 2], 10, {"times": [pd.Timestamp(2026, 1, 1), pd.NaT]}),
        ([1, 2], 10, {"times": [date(2026, 1, 1), datetime(2026, 1, 2)]}),
    ],
)
def test_unusable_data_are_refused(events: object, n: object, options: dict[str, object]) -> None:
    with pytest.raises(DataError):
        event_counts(events, n, **options)  # type: ignore[arg-type]
