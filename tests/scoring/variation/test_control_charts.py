"""Charts of counts: limits by hand, false alarms by exact sums, what is too little or refused."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, poisson

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.chart import ControlChart
from scoring.variation.control_charts import control_chart
from scoring.variation.rule_run_length import run_rule_arl
from scoring.variation.run_rules import WESTERN_ELECTRIC, completed, sides
from tests.published.charts import p_chart

COUNTS = [3, 5, 2, 6, 4, 3, 7, 5, 4, 2]
SIZES = [40, 60, 30, 80, 55, 42, 75, 60, 50, 35]


def made(*args: object, **options: object) -> ControlChart:
    found = control_chart(*args, **options)  # type: ignore[arg-type]
    assert isinstance(found, ControlChart)
    return found


def test_limits_by_hand_for_each_form() -> None:
    p = sum(COUNTS) / sum(SIZES)
    for form, each in (("p", lambda n: 1.0), ("np", lambda n: n)):
        chart = made(COUNTS, SIZES, form)
        for point, n in zip(chart.points, SIZES, strict=True):
            half = 3 * math.sqrt(p * (1 - p) / n)
            assert point.centre == pytest.approx(p * each(n))
            assert point.high == pytest.approx((p + half) * each(n))
            assert point.low == pytest.approx(max(0.0, p - half) * each(n))
    chart = made(COUNTS, SIZES, "u")
    for point, n in zip(chart.points, SIZES, strict=True):
        assert point.high == pytest.approx(p + 3 * math.sqrt(p / n))
    chart = made(COUNTS, form="c")
    assert chart.points[0].high == pytest.approx(4.1 + 3 * math.sqrt(4.1))
    assert chart.centre == pytest.approx(4.1)


@pytest.mark.parametrize(("form", "variance"), [("p'", lambda p: p * (1 - p)), ("u'", lambda p: p)])
def test_laneys_factor_by_hand(form: str, variance: object) -> None:
    chart = made(COUNTS, SIZES, form)
    p = sum(COUNTS) / sum(SIZES)
    error = [math.sqrt(variance(p) / n) for n in SIZES]  # type: ignore[operator]
    z = [(c / n - p) / e for c, n, e in zip(COUNTS, SIZES, error, strict=True)]
    moving = [abs(b - a) for a, b in pairwise(z)]
    factor = sum(moving) / len(moving) / 1.1283791671
    assert chart.sigma_z == pytest.approx(factor)
    assert chart.points[0].high == pytest.approx(p + 3 * factor * error[0])
    assert chart.points[0].z == pytest.approx(z[0] / factor)
    assert chart.false_alarm_share is None


def test_large_volumes_that_vary_more_than_chance_no_longer_all_signal() -> None:
    generator = np.random.default_rng(2)
    n = np.full(200, 100_000)
    rate = np.clip(0.1 + 0.005 * generator.standard_normal(200), 0, 1)
    events = generator.binomial(n, rate)
    plain = {each.at for each in made(events, n, "p", rules="beyond").signals}
    laney = made(events, n, "p'", rules="beyond")
    assert len(plain) > 60
    assert len(laney.signals) <= 4
    assert laney.sigma_z == pytest.approx(math.sqrt(1 + 0.005**2 * 100_000 / 0.09), rel=0.15)


def test_baseline_and_named_points_set_the_limits() -> None:
    half = made(COUNTS, SIZES, baseline=6)
    assert half.centre == pytest.approx(sum(COUNTS[:6]) / sum(SIZES[:6]))
    assert [point.in_baseline for point in half.points] == [True] * 6 + [False] * 4
    named = made(COUNTS, SIZES, baseline=["1", "2", "3", "4", "5", "6"])
    assert named.centre == half.centre
    without = made(COUNTS, SIZES, exclude=[1, 10])
    assert without.centre == pytest.approx(sum(COUNTS[1:9]) / sum(SIZES[1:9]))
    assert len(without.points) == 10
    assert half.provisional
    assert not p_chart().provisional


def test_dates_name_the_points_and_may_be_excluded() -> None:
    days = [date(2026, 1, 1) + timedelta(weeks=at) for at in range(10)]
    chart = made(COUNTS, SIZES, times=days, exclude=[days[0]])
    assert chart.points[0].time == days[0]
    assert not chart.points[0].in_baseline
    turned = made(COUNTS[::-1], SIZES[::-1], times=days[::-1], sort=True, exclude=[days[0]])
    assert turned == chart
    with pytest.raises(DataError, match="row 2"):
        control_chart(COUNTS, SIZES, times=days[::-1])


@given(st.permutations(range(10)))
@settings(max_examples=15)
def test_relabelling_changes_no_figure(order: list[int]) -> None:
    chart = made(COUNTS, SIZES, labels=[f"w{at}" for at in order])
    plain = made(COUNTS, SIZES)
    assert [(p.value, p.low, p.high, p.z) for p in chart.points] == [
        (p.value, p.low, p.high, p.z) for p in plain.points
    ]
    assert len(chart.signals) == len(plain.signals)


@given(
    st.lists(st.integers(5, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
             min_size=8, max_size=20),
    st.sampled_from(["normal", "exact"]),
)  # fmt: skip
@settings(max_examples=40)
def test_limits_stay_on_the_scale(pairs: list[tuple[int, int]], limits: str) -> None:
    counts, sizes = zip(*pairs, strict=True)
    chart = control_chart(counts, sizes, limits=limits, rules="beyond")  # type: ignore[arg-type]
    if isinstance(chart, TooLittleEvidence):
        assert chart.missing == "difference"
        return
    beyond = {each.at for each in chart.signals}
    for point in chart.points:
        assert 0 <= point.low <= point.centre <= point.high + 1e-12
        assert point.high <= 1
        outside = point.value < point.low - 1e-9 or point.value > point.high + 1e-9
        assert (point.label in beyond) == outside


@pytest.mark.parametrize("limits", ["normal", "exact"])
@pytest.mark.parametrize("kind", ["p", "u"])
def test_the_share_of_false_alarms_is_what_it_says(limits: str, kind: str) -> None:
    n, target = 30, 0.12
    counts = np.arange(n + 1)
    chart = made(counts, n, kind, target=target, limits=limits, rules="beyond")
    chance = binom.pmf(counts, n, target) if kind == "p" else poisson.pmf(counts, n * target)
    beyond = [int(each.at) - 1 for each in chart.signals]
    assert chart.false_alarm_share == pytest.approx(chance[beyond].sum(), rel=1e-6)
    if limits == "exact":
        assert chance[beyond].sum() <= 0.0027


def test_wider_limits_cry_wolf_less() -> None:
    narrow, wide = (made(COUNTS, SIZES, sigmas=width) for width in (2.0, 3.0))
    assert narrow.false_alarm_every.value < wide.false_alarm_every.value
    assert wide.false_alarm_every == run_rule_arl("western-electric")


def test_false_alarms_over_time_are_as_told() -> None:
    """With many answers a point the normal theory holds: one signal in 91.75 points."""
    generator = np.random.default_rng(4)
    z = (generator.binomial(2000, 0.5, (2000, 1200)) / 2000 - 0.5) / math.sqrt(0.25 / 2000)
    met = np.zeros(z.shape, dtype=bool)
    for rule in WESTERN_ELECTRIC:
        for _, fits in sides(z, rule):
            met |= completed(fits, rule)
    assert met.any(axis=1).all()
    told = made(COUNTS, SIZES, target=0.08).false_alarm_every.value
    assert told == pytest.approx(91.75, abs=0.005)
    assert (met.argmax(axis=1) + 1).mean() == pytest.approx(told, rel=0.07)


def test_too_little() -> None:
    few = control_chart([1, 2, 3], 10)
    assert isinstance(few, TooLittleEvidence)
    assert few.said == "Only 3 points to set limits from; at least 5 are needed."
    assert isinstance(control_chart([1, 2, 3], 10, target=0.2), ControlChart)
    for events in ([0] * 8, [10] * 8):
        same = control_chart(events, 10)
        assert isinstance(same, TooLittleEvidence)
        assert same.missing == "difference"
    assert isinstance(control_chart([2] * 8, 10, "p'"), TooLittleEvidence)
    assert isinstance(control_chart([], [], target=0.2), TooLittleEvidence)
    assert isinstance(control_chart([math.nan] * 8, 10), TooLittleEvidence)
    assert isinstance(control_chart([2], 10, "p'", target=0.1), TooLittleEvidence)


def test_points_without_data_are_left_out() -> None:
    chart = made([*COUNTS, math.nan, 0], [*SIZES, 30, 0])
    assert chart.left_out == ("11", "12")
    assert len(chart.points) == 10


def test_unusable_input_is_refused() -> None:
    with pytest.raises(DataError, match="exclude"):
        control_chart(COUNTS, SIZES, exclude=["week 3"])
    with pytest.raises(DataError, match="baseline"):
        control_chart(COUNTS, SIZES, baseline=["11"])
    with pytest.raises(DataError, match="at most"):
        control_chart([41, *COUNTS[1:]], SIZES)


@pytest.mark.parametrize(
    "options",
    [{"form": "x"}, {"sigmas": 0}, {"sigmas": 10}, {"limits": "tight"}, {"baseline": 0},
     {"form": "p'", "limits": "exact"}, {"target": math.nan}, {"target": 1.5}, {"rules": "none"}],
)  # fmt: skip
def test_a_setting_off_its_range_is_refused(options: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"wanted|unknown"):
        control_chart(COUNTS, SIZES, **options)  # type: ignore[arg-type]
