"""Funnel: limits against summed binomials, promises by exact sums, overdispersion by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, poisson

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.chance_limits import chance_limits
from scoring.variation.funnel import Funnel, funnel
from tests.published.charts import hospitals, point


def made(*args: object, **options: object) -> Funnel:
    found = funnel(*args, **options)  # type: ignore[arg-type]
    assert isinstance(found, Funnel)
    return found


@pytest.mark.parametrize("level", [0.95, 0.998])
@pytest.mark.parametrize("n", [5, 47, 300])
def test_limits_by_counting_up(n: int, level: float) -> None:
    for target in (0.02, 0.074, 0.5, 0.9):
        for place, q in enumerate(((1 - level) / 2, (1 + level) / 2)):
            summed, r = 0.0, -1
            while summed < q:
                r += 1
                summed += math.comb(n, r) * target**r * (1 - target) ** (n - r)
            last = math.comb(n, r) * target**r * (1 - target) ** (n - r)
            plain = chance_limits(n, target, level, limits="quantile")[place]
            smooth = chance_limits(n, target, level, limits="interpolated")[place]
            assert plain[0] == pytest.approx(r / n)
            assert smooth[0] == pytest.approx(max(0.0, (r - (summed - q) / last) / n), abs=1e-9)


@given(st.floats(0.01, 0.99), st.sampled_from(["interpolated", "quantile", "normal"]))
@settings(max_examples=40)
def test_limits_stay_on_the_scale_and_hold_the_target(target: float, limits: str) -> None:
    n = np.arange(1, 400)
    low, high = chance_limits(n, target, 0.95, limits=limits)  # type: ignore[arg-type]
    assert (low >= 0).all()
    assert (high <= 1).all()
    assert (low <= high).all()
    wide_low, wide_high = chance_limits(n, target, 0.998, limits=limits)  # type: ignore[arg-type]
    assert (wide_low <= low + 1e-12).all()
    assert (wide_high >= high - 1e-12).all()


@given(st.floats(0.05, 0.95))
@settings(max_examples=30)
def test_limits_narrow_with_volume(target: float) -> None:
    low, high = chance_limits([10, 40, 160, 640, 2560], target, 0.95)
    assert (np.diff(high - low) < 0).all()


@pytest.mark.parametrize("kind", ["proportion", "rate"])
def test_a_unit_without_a_difference_is_beyond_no_more_often_than_promised(kind: str) -> None:
    target = 0.07
    for n in (5, 20, 47, 148, 810):
        top = n if kind == "proportion" else 200
        counts = np.arange(top + 1)
        found = made(counts, np.full(top + 1, n), target=target, kind=kind)
        chance = binom.pmf(counts, n, target) if kind == "proportion" else poisson.pmf(
            counts, n * target
        )  # fmt: skip
        ordered = sorted(found.points, key=lambda each: each.events)
        for level in (0.95, 0.998):
            beyond = np.array([each.beyond >= level for each in ordered])
            assert chance[beyond].sum() <= 1 - level + 1e-12


def test_beyond_is_what_the_quantile_limits_say() -> None:
    for each in hospitals(limits="quantile").points:
        for level, (low, high) in zip((0.95, 0.998), each.limits, strict=True):
            outside = each.value < low - 1e-12 or each.value > high + 1e-12
            assert (each.beyond >= level) == outside


def test_hospitals_beyond() -> None:
    found = hospitals()
    beyond = {each.unit: each.beyond for each in found.points if each.beyond}
    assert beyond == {"E": 0.95, "H": 0.998, "K": 0.95}
    assert point("H", found).side == "above"
    # With the differences between hospitals taken in, H is no more than a warning.
    assert point("H", hospitals("additive", winsorise=0.0)).beyond == 0.95
    assert point("K", hospitals("additive", winsorise=0.0)).beyond == 0.0


def test_overdispersion_formulas_by_hand() -> None:
    found = hospitals(winsorise=0.0)
    z = [each.z for each in found.points]
    n = [each.n for each in found.points]
    squares = sum(value * value for value in z)
    assert found.phi == pytest.approx(squares / 12)
    weights = [size / (found.target * (1 - found.target)) for size in n]
    total = sum(weights)
    expected = (squares - 11) / (total - sum(w * w for w in weights) / total)
    assert found.tau2 == pytest.approx(expected)
    widened = hospitals("multiplicative", winsorise=0.0)
    one = point("H", widened)
    half = 1.959963984540054 * math.sqrt(found.phi or 0.0) / math.sqrt(weights[7])
    assert one.adjusted_limits[0][1] == pytest.approx(found.target + half)
    assert one.z_adjusted == pytest.approx(one.z / math.sqrt(found.phi or 0.0))


def test_tau2_is_recovered_and_chance_alone_gives_none() -> None:
    generator = np.random.default_rng(5)
    n = generator.integers(60, 400, 60)
    truths, nones = [], []
    for _ in range(100):
        rate = np.clip(0.3 + 0.08 * generator.standard_normal(60), 0.01, 0.99)
        truths.append(made(generator.binomial(n, rate), n, winsorise=0.0).tau2)
        nones.append(made(generator.binomial(n, 0.3), n, winsorise=0.0).phi)
    assert np.mean(truths) == pytest.approx(0.08**2, rel=0.08)
    assert np.mean(nones) == pytest.approx(1.0, abs=0.05)


def test_adjusted_flags_keep_their_promise_when_all_differ_alike() -> None:
    generator = np.random.default_rng(6)
    n = generator.integers(100, 400, 40)
    shares = []
    for _ in range(100):
        rate = np.clip(0.3 + 0.08 * generator.standard_normal(40), 0.01, 0.99)
        events = generator.binomial(n, rate)
        plain = made(events, n)
        wide = made(events, n, overdispersion="additive", winsorise=0.0)
        shares.append([
            np.mean([each.beyond > 0 for each in found.points]) for found in (plain, wide)
        ])  # fmt: skip
    naive, adjusted = np.mean(shares, axis=0)
    assert naive > 0.3
    assert 0.03 <= adjusted <= 0.07


@given(st.permutations(range(12)))
@settings(max_examples=20)
def test_order_of_units_changes_nothing(order: list[int]) -> None:
    points = hospitals().points
    events, n = [each.events for each in points], [each.n for each in points]
    names = [each.unit for each in points]
    found = made(*([column[at] for at in order] for column in (events, n, names)))
    assert found.points[7].z == pytest.approx(points[7].z)
    assert [each.unit for each in found.points] == names


def test_events_and_their_absence_mirror() -> None:
    points = hospitals().points
    events = [each.events for each in points]
    n = [each.n for each in points]
    other = made([b - a for a, b in zip(events, n, strict=True)], n, [each.unit for each in points])
    for one, two in zip(points, other.points, strict=True):
        assert two.z == pytest.approx(-one.z)
        assert two.beyond == one.beyond


def test_arcsine_and_square_root_limits_stay_on_the_scale() -> None:
    small = made([0, 1, 0, 9, 8], [3, 4, 2, 9, 9], transform="arcsine", overdispersion="additive")
    assert all(0 <= low <= high <= 1 for p in small.points for low, high in p.adjusted_limits)
    rates = made(
        [0, 1, 0, 19, 8], [3.5, 4, 2, 9, 9], kind="rate", transform="sqrt",
        overdispersion="multiplicative",
    )  # fmt: skip
    assert all(0 <= low <= high for p in rates.points for low, high in p.adjusted_limits)


def test_a_standardised_ratio_is_a_rate_with_target_one() -> None:
    found = made([12, 8], [8.0, 8.0], ["a", "b"], kind="rate", target=1.0)
    assert found.points[0].value == 1.5
    assert found.points[0].z == pytest.approx(4 / math.sqrt(8))
    assert found.points[0].p == pytest.approx(2 * poisson.sf(11, 8))


def test_a_small_unit_is_told_to_be_too_small() -> None:
    found = made([1, 1, 10], [1, 2, 60], ["one", "two", "many"], target=0.2)
    can = {each.unit: each.can_be_beyond for each in found.points}
    # 1 of 1 has probability 0.2, 2 of 2 has 0.04: neither is below 0.025.
    assert can == {"one": False, "two": False, "many": True}


def test_too_little() -> None:
    few = funnel([1, 2], [10, 10])
    assert isinstance(few, TooLittleEvidence)
    assert few.said == "Only 2 units with results; at least 5 are needed."
    for events in ([0] * 6, [10] * 6):
        same = funnel(events, 10 if events[0] else 5)
        assert isinstance(same, TooLittleEvidence)
        assert same.missing == "difference"
    assert isinstance(funnel([1, 2], 10, target=0.1, overdispersion="additive"), TooLittleEvidence)
    assert isinstance(funnel([], [], target=0.1), TooLittleEvidence)
    assert isinstance(funnel([math.nan] * 6, 10), TooLittleEvidence)
    assert made([3], [10], target=0.1).tau2 is None


@pytest.mark.parametrize(
    "options",
    [{"levels": (0.998, 0.95)}, {"levels": ()}, {"levels": (1.0,)}, {"limits": "wide"},
     {"transform": "sqrt"}, {"overdispersion": "some"}, {"winsorise": 0.5}, {"target": 1.0},
     {"kind": "count"}],
)  # fmt: skip
def test_a_setting_off_its_range_is_refused(options: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="wanted"):
        funnel([1, 2, 3, 4, 5], 10, **options)  # type: ignore[arg-type]


def test_units_named_twice_are_refused() -> None:
    with pytest.raises(DataError):
        funnel([1, 2, 3, 4, 5], 10, list("abcda"))


def test_ten_thousand_units() -> None:
    generator = np.random.default_rng(7)
    n = generator.integers(1, 200, 10_000)
    found = made(generator.binomial(n, 0.1), n)
    assert len(found.points) == 10_000
    assert sum(each.beyond > 0 for each in found.points) <= 500
