"""Months: harder scenarios are taken out, a truly worse month is found, chance rarely is."""

from __future__ import annotations

import numpy as np

from scoring.cohort.answers_in_time import answers_in_time, month_name, month_said
from scoring.cohort.monthly import MOST_MONTHS, monthly
from scoring.cohort.time_charts import months_figure, place_of, signals
from scoring.evidence import TooLittleEvidence
from scoring.records.people import Happening
from scoring.variation.chart import ControlChart
from tests.scoring.cohort.timed import DECISIONS, Timed


def charts(made: Timed) -> dict[str, ControlChart]:
    found = {}
    for row in monthly(answers_in_time(made.table())):
        assert isinstance(row.chart, ControlChart)
        found[str(row.station)] = row.chart
    return found


def test_the_counts_are_those_of_the_table() -> None:
    table = Timed(operators=10).table()
    rows = monthly(answers_in_time(table))
    joined = table.scenarios.merge(
        table.sittings[["month"]], left_on="at", right_index=True, validate="many_to_one"
    )
    for row in rows:
        part = joined[joined["station"] == row.station].groupby("month")
        wrong = (part["decisions"].sum() - part["right"].sum()).to_dict()
        assert dict(zip(map(month_name, row.months), row.wrong, strict=True)) == wrong
        assert set(row.n) == {10 * DECISIONS}


def test_equal_hardness_is_what_the_formula_says_cell_by_cell() -> None:
    table = Timed(operators=9, pool=4, seed=5).table()
    answers = answers_in_time(table)
    (row,) = [row for row in monthly(answers) if row.station == "brush"]
    assert row.adjusted
    assert isinstance(row.chart, ControlChart)
    mine = [k for k in range(len(answers.at)) if answers.scenarios[answers.scenario[k]][0] == "b"]
    n: dict[tuple[int, int], int] = {}
    wrong: dict[tuple[int, int], int] = {}
    for k in mine:
        cell = int(answers.month[k]), int(answers.scenario[k])
        n[cell] = n.get(cell, 0) + int(answers.decisions[k])
        wrong[cell] = wrong.get(cell, 0) + int(answers.wrong[k])
    centre = sum(wrong.values()) / sum(n.values())
    for month, point in zip(row.months, row.chart.points, strict=True):
        expected = variance = own = 0.0
        for (at, scenario), size in n.items():
            if at != month:
                continue
            total = sum(v for (_, other), v in n.items() if other == scenario)
            rate = sum(v for (_, other), v in wrong.items() if other == scenario) / total
            expected += size * rate
            variance += size * rate * (1 - rate)
            own += size * rate * (1 - rate) * size / total
        seen = sum(v for (at, _), v in wrong.items() if at == month)
        size = sum(v for (at, _), v in n.items() if at == month)
        counted = size * centre + (seen - expected) / np.sqrt(1 - own / variance)
        assert point.value == round(counted) / size


def test_a_worse_month_is_found_and_named_in_the_figure() -> None:
    made = Timed(operators=48, worse_month=(5, "rinse", 1.6))
    found = charts(made)
    assert signals(found["rinse"])[0] == {"2024-06"}
    assert not signals(found["soak"])[0]
    drawn = months_figure(monthly(answers_in_time(made.table())), ())
    assert drawn is not None
    assert "outside the limits: June 2024" in drawn.alt


def test_months_whose_scenarios_are_harder_are_not_called_worse() -> None:
    """Every third month has the hard scenarios: raw rates swing, the charted ones do not."""
    made = Timed(operators=60, spread=0.0, pool=3, seed=2)
    made.harder_month = (1, 1.5)
    table = made.table()
    # Everybody sits the same scenario in a month.
    same = Timed(operators=60, spread=0.0, pool=3, seed=2, places=(("North", "early"),))
    assert same.table().sittings["operator"].nunique() == 60
    rows = table.scenarios
    month = rows["at"].map(table.sittings["month"]).str[-2:].astype(int)
    keep = rows["scenario"].str[-2:].astype(int) == month % 3
    rows = rows[keep].reset_index(drop=True)
    answers = answers_in_time(type(table)(table.sittings, rows, table.stations,
                                          table.mistakes, table.read_decisions))  # fmt: skip
    for row in monthly(answers):
        assert row.adjusted
        assert isinstance(row.chart, ControlChart)
        raw = np.array(row.wrong) / np.array(row.n)
        charted = np.array([point.value for point in row.chart.points])
        assert np.ptp(raw) > 2 * np.ptp(charted)
        assert not row.chart.signals


def test_scenarios_of_one_month_only_are_not_taken_out() -> None:
    for row in monthly(answers_in_time(Timed(scenarios_by_month=True).table())):
        assert not row.adjusted
        assert isinstance(row.chart, ControlChart)
        assert [p.value for p in row.chart.points] == [
            w / n for w, n in zip(row.wrong, row.n, strict=True)
        ]


def test_chance_alone_rarely_marks_a_month() -> None:
    """No difference between months: fewer than 1 in 100 points lie outside."""
    out = points = 0
    for seed in range(40):
        for chart in charts(Timed(operators=24, seed=100 + seed)).values():
            out += len(signals(chart)[0])
            points += len(chart.points)
    assert points == 40 * 3 * 12
    assert out / points < 0.01


def test_only_the_last_months_are_charted() -> None:
    (row, *_) = monthly(answers_in_time(Timed(operators=4, months=range(50)).table()))
    assert len(row.months) == MOST_MONTHS
    assert row.left_out == 50 - MOST_MONTHS


def test_few_months_have_no_figure() -> None:
    rows = monthly(answers_in_time(Timed(months=(0, 1)).table()))
    assert all(isinstance(row.chart, TooLittleEvidence) for row in rows)
    assert months_figure(rows, ()) is None


def test_an_event_stands_where_its_day_is() -> None:
    happening = Happening(np.datetime64("2024-07-16").astype(object), "new_chemical", None, (), "")
    month = 2024 * 12 + 6
    assert month - 0.1 < place_of(happening.day) < month + 0.1
    assert month_said(month) == "July 2024"
