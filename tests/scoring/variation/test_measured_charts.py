"""Charts of measured values, with constants, limits by hand and refusals."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.chart import ControlChart
from scoring.variation.chart_constants import MOST_VALUES, chart_constants
from scoring.variation.measured_charts import individuals_chart, subgroup_chart

GENERATOR = np.random.default_rng(11)
SUBGROUPS = GENERATOR.normal(50, 4, (25, 5))


def made(found: object) -> ControlChart:
    assert isinstance(found, ControlChart)
    return found


def test_constants_of_two_and_three_have_closed_forms() -> None:
    two = chart_constants(2)
    assert two.d2 == pytest.approx(2 / math.sqrt(math.pi), abs=1e-10)
    assert two.d3 == pytest.approx(math.sqrt(2 - 4 / math.pi), abs=1e-10)
    assert two.c4 == pytest.approx(math.sqrt(2 / math.pi), abs=1e-10)
    assert chart_constants(3).d2 == pytest.approx(3 / math.sqrt(math.pi), abs=1e-10)


def test_constants_by_simulation() -> None:
    sample = np.random.default_rng(3).standard_normal((200_000, 7))
    found = chart_constants(7)
    assert np.ptp(sample, axis=1).mean() == pytest.approx(found.d2, rel=0.003)
    assert np.ptp(sample, axis=1).std() == pytest.approx(found.d3, rel=0.01)
    assert sample.std(axis=1, ddof=1).mean() == pytest.approx(found.c4, rel=0.003)


def test_constants_up_to_the_largest() -> None:
    found = [chart_constants(n) for n in (4, 8, 25, 60, MOST_VALUES)]
    assert (np.diff([each.d2 for each in found]) > 0).all()
    assert (np.diff([each.d3 for each in found]) < 0).all()
    # By order statistics: E(largest) by a fine sum.
    x = np.linspace(-9, 9, 200_001)
    whole = np.trapezoid(1 - norm.cdf(x) ** 100 - norm.sf(x) ** 100, x)
    assert found[-1].d2 == pytest.approx(whole, abs=1e-8)
    for n in (1, 101, 2.5):
        with pytest.raises(ValueError, match="wanted"):
            chart_constants(n)  # type: ignore[arg-type]


def test_subgroup_limits_are_the_textbook_ones() -> None:
    mean, ranges = SUBGROUPS.mean(), np.ptp(SUBGROUPS, axis=1).mean()
    spread = SUBGROUPS.std(axis=1, ddof=1).mean()
    c = chart_constants(5)
    expected = {
        ("mean", "range"): (mean - c.A2 * ranges, mean + c.A2 * ranges),
        ("mean", "sd"): (mean - c.A3 * spread, mean + c.A3 * spread),
        ("range", "range"): (c.D3 * ranges, c.D4 * ranges),
        ("sd", "sd"): (c.B3 * spread, c.B4 * spread),
    }
    for (plot, by), limits in expected.items():
        chart = made(subgroup_chart(SUBGROUPS, plot, by))  # type: ignore[arg-type]
        assert (chart.points[0].low, chart.points[0].high) == pytest.approx(limits)
    known = made(subgroup_chart(SUBGROUPS, sigma=4.0, target=50.0))
    assert known.points[0].high == pytest.approx(50 + 12 / math.sqrt(5))


def test_individuals_by_hand() -> None:
    values = [10.0, 12.0, 11.0, 9.0, 13.0, 30.0]
    chart = made(individuals_chart(values, exclude=["6"], rules="beyond"))
    moving = (2 + 1 + 2 + 4) / 4
    assert chart.centre == pytest.approx(11.0)
    assert chart.points[0].high == pytest.approx(11 + chart_constants(2).E2 * moving)
    assert [each.at for each in chart.signals] == ["6"]


def test_order_of_rows_follows_the_dates() -> None:
    days = [date(2026, 1, day) for day in (3, 1, 2, 5, 4)]
    chart = made(individuals_chart([3, 1, 2, 5, 4], times=days, sort=True))
    assert [point.value for point in chart.points] == [1, 2, 3, 4, 5]
    turned = made(subgroup_chart(SUBGROUPS[:5][[2, 0, 1, 4, 3]], times=days, sort=True))
    assert turned.points[0].value == pytest.approx(SUBGROUPS[0].mean())


def test_missing_values_are_left_out_and_infinite_ones_refused() -> None:
    chart = made(individuals_chart([1, 2, math.nan, 3, 2, 1]))
    assert chart.left_out == ("3",)
    with pytest.raises(DataError, match="row 2"):
        individuals_chart([1, math.inf, 2])
    with pytest.raises(DataError, match="row 1"):
        subgroup_chart([[1, math.nan], [1, 2]])
    with pytest.raises(DataError, match="equally many"):
        subgroup_chart([[1, 2], [3]])  # type: ignore[list-item]
    with pytest.raises(ValueError, match="subgroups"):
        subgroup_chart([1, 2, 3])
    with pytest.raises(ValueError, match="plot"):
        subgroup_chart(SUBGROUPS, "median")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="sigmas"):
        individuals_chart([1, 2, 3, 4, 5], sigmas=0)


def test_too_little() -> None:
    for found in (
        individuals_chart([1, 2, 3]), individuals_chart([2] * 9), subgroup_chart(SUBGROUPS[:4]),
        subgroup_chart([[3, 3]] * 8), individuals_chart([], target=1.0, sd=1.0),
    ):  # fmt: skip
        assert isinstance(found, TooLittleEvidence)
    assert isinstance(individuals_chart([1.0], target=1.0, sd=1.0), ControlChart)


def test_false_alarms_of_known_limits_are_as_told() -> None:
    z = np.random.default_rng(9).standard_normal(40_000)
    chart = made(individuals_chart(z, target=0.0, sd=1.0, rules="beyond"))
    share = len(chart.signals) / len(z)
    assert share == pytest.approx(1 / chart.false_alarm_every.value, rel=0.25)
