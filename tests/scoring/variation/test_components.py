"""Variance components against the dense likelihood, closed forms and bad input."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]
from statsmodels.regression.mixed_linear_model import MixedLM  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.balanced import OneWay, one_way, two_way_crossed
from scoring.variation.component_intervals import Aim, heights, profile_intervals
from scoring.variation.components import Components, variance_components
from scoring.variation.mixed_curvature import best, profiled, whole
from scoring.variation.mixed_likelihood import Likelihood, Numbers, gather
from scoring.variation.profile_search import share_ends, variance_ends


def fitted(*arguments: object, **options: object) -> Components:
    """Fit and insist on figures."""
    found = variance_components(*arguments, intervals=False, **options)  # type: ignore[arg-type]
    assert isinstance(found, Components)
    return found


def drawn(seed: int = 3) -> tuple[Numbers, Numbers, list[np.ndarray], list[int]]:
    """Draw an unbalanced crossing with a slope."""
    random = np.random.default_rng(seed)
    codes = [random.permutation(np.arange(60) % size) for size in (7, 5, 3)]
    x = np.column_stack([np.ones(60), random.normal(size=60)])
    y = random.normal(size=60) + sum(random.normal(size=9)[code] for code in codes)
    return np.asarray(y), x, codes, [7, 5, 3]


@pytest.mark.parametrize("reml", [True, False])
def test_the_deviance_is_that_of_the_dense_normal_density(reml: bool) -> None:
    y, x, codes, levels = drawn()
    theta = np.array([0.8, 0.3, 1.7])
    model = Likelihood(gather(y, x, codes, levels), reml=reml)
    v = np.eye(60)
    for own, code in zip(theta, codes, strict=True):
        v += own**2 * (code[:, None] == code)
    v *= 1.3
    inverse = np.linalg.inv(v)
    information = x.T @ inverse @ x
    rest = y - x @ np.linalg.solve(information, x.T @ inverse @ y)
    dense = np.linalg.slogdet(v)[1] + rest @ inverse @ rest + 60 * np.log(2 * np.pi)
    if reml:
        dense += np.linalg.slogdet(information)[1] - 2 * np.log(2 * np.pi)
    assert model.at(theta, 1.3) == pytest.approx(dense, rel=1e-10)


@pytest.mark.parametrize("reml", [True, False])
def test_the_slope_is_that_of_small_differences(reml: bool) -> None:
    model = Likelihood(gather(*drawn()), reml=reml)
    theta = np.array([0.8, 0.3, 1.7])
    slope = model.with_slope(theta)[1]
    for at in range(3):
        step = np.eye(3)[at] * 1e-5
        rise = (model.value(theta + step) - model.value(theta - step)) / 2e-5
        assert slope[at] == pytest.approx(rise, rel=1e-6, abs=1e-6)


def test_a_balanced_design_gives_the_closed_form() -> None:
    random = np.random.default_rng(5)
    cells = random.normal(size=(12, 6, 3)) + random.normal(size=(12, 1, 1))
    cells += random.normal(size=(1, 6, 1)) + random.normal(size=(12, 6, 1))
    table = two_way_crossed(cells)
    assert not isinstance(table, TooLittleEvidence)
    a, b, _ = np.indices(cells.shape).reshape(3, -1)
    fit = fitted(cells.ravel(), {"a": a, "b": b, "ab": a * 6 + b})
    wanted = {
        "a": (table.rows.ms - table.interaction.ms) / 18,
        "b": (table.columns.ms - table.interaction.ms) / 36,
        "ab": (table.interaction.ms - table.within.ms) / 3,
        "residual": table.within.ms,
    }
    assert min(wanted.values()) > 0
    for name, value in wanted.items():
        assert fit.variances[name].value == pytest.approx(value, rel=1e-6)


def test_order_of_rows_and_names_do_not_matter_and_missing_rows_are_left_out() -> None:
    y, _, codes, _ = drawn()
    plain = fitted(y, {"a": codes[0], "b": codes[1]})
    order = np.random.default_rng(1).permutation(60)
    named = [f"x{code}" for code in codes[0][order]]
    other = fitted([*y[order], None], {"a": [*named, "x0"], "b": [*codes[1][order], 0]})
    assert other.left_out == 1
    assert other.criterion == pytest.approx(plain.criterion, rel=1e-9)
    assert other.variances["a"].value == pytest.approx(plain.variances["a"].value, rel=1e-6)


def test_data_frames_hold_factors_and_columns() -> None:
    y, x, codes, _ = drawn()
    factors, fixed = {"a": codes[0], "b": codes[1]}, {"x": x[:, 1]}
    plain = fitted(y, factors, fixed=fixed)
    framed = fitted(pd.Series(y), pd.DataFrame(factors), fixed=pd.DataFrame(fixed))
    assert framed.variances == plain.variances
    assert framed.fixed == plain.fixed


@pytest.mark.parametrize("noise", [0.0, 1e-9, 1e-6])
def test_values_without_scatter_leave_nothing_to_tell(noise: float) -> None:
    operators, scenarios = np.repeat(np.arange(10), 24), np.tile(np.arange(6), 40)
    exact = 1.3 * operators + noise * np.random.default_rng(1).normal(size=240)
    for factors in ({"operator": operators}, {"operator": operators, "scenario": scenarios}):
        found = variance_components(exact, factors)
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == "residual"
        assert found.said.endswith("no other scatter is left.")
    # A scatter of a four-thousandth is still told rightly.
    fine = 1.3 * operators + 1e-3 * np.random.default_rng(1).normal(size=240)
    table = one_way(fine, operators)
    told = variance_components(fine, {"operator": operators})
    assert isinstance(table, OneWay)
    assert isinstance(told, Components)
    assert told.variances["residual"].value == pytest.approx(table.within.ms, rel=1e-4)


def test_too_little_is_said_and_faults_are_raised() -> None:
    for y, label, code in (
        ([1.0, 2.0, 3.0], ["a"] * 3, "levels"),
        ([1.0, 2.0, 3.0], ["a", "b", "c"], "levels"),
        ([1.0, 1.0, 1.0], ["a", "b", "a"], "variance"),
        ([1.0, None, None], ["a", "b", "a"], "rows"),
    ):
        found = variance_components(y, {"operator": label})
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == code
    with pytest.raises(DataError):
        variance_components([1.0, 2.0, float("inf")], {"operator": ["a", "b", "a"]})
    with pytest.raises(DataError):
        variance_components([1.0, 2.0, 4.0], {"operator": ["a", "b"]})


@pytest.mark.parametrize("reml", [True, False])
def test_second_derivatives_are_those_of_small_differences(reml: bool) -> None:
    model = Likelihood(gather(*drawn()), reml=reml)
    gamma = np.array([[0.64, 0.09, 2.9]])
    logs = np.log(np.array([[0.64, 0.09, 2.9, 1.3]]))
    none = np.zeros((1, 3), dtype=bool)

    def by_ratio(point: Numbers) -> tuple[Numbers, ...]:
        return profiled(model, point)

    def by_logarithm(point: Numbers) -> tuple[Numbers, ...]:
        return whole(model, point, none)

    for of, at in ((by_ratio, gamma), (by_logarithm, logs)):
        value, slope, curve = of(at)[:3]
        for j in range(at.shape[1]):
            step = np.eye(at.shape[1])[j] * 1e-5
            up, down = of(at + step), of(at - step)
            assert slope[0, j] == pytest.approx((up[0] - down[0])[0] / 2e-5, abs=1e-5)
            assert curve[0, j] == pytest.approx((up[1] - down[1])[0] / 2e-5, abs=1e-3, rel=1e-4)
        assert value[0] == pytest.approx(
            model.value(np.sqrt(gamma[0])) if at is gamma else model.at(np.sqrt(gamma[0]), 1.3)
        )


def test_all_ends_at_once_are_those_of_the_slow_search() -> None:
    y, _, codes, levels = drawn(8)
    model = Likelihood(gather(y - y.mean(), None, codes[:2], levels[:2]), reml=True)
    gamma = best(model)
    residual = model.pieces(np.sqrt(gamma))[1] / model.df
    least = model.value(np.sqrt(gamma))
    quick = profile_intervals(model, gamma, residual, 0.95)
    above = heights(model, gamma, 0.95)
    for at in range(3):
        for share, seek in ((False, variance_ends), (True, share_ends)):
            low, high = (least + above[Aim(at, share, up)] for up in (False, True))
            assert quick[at][share] == pytest.approx(
                seek(model, np.sqrt(gamma), at, low, high), rel=1e-3, abs=1e-6
            )


def test_a_fit_equals_that_of_another_program() -> None:
    random = np.random.default_rng(9)
    group = np.repeat(np.arange(12), 5)
    x = random.normal(size=60)
    y = 1 + 0.5 * x + random.normal(size=12)[group] + random.normal(size=60)
    fit = fitted(y, {"group": group}, fixed={"x": x})
    other: Any = MixedLM(y, np.column_stack([np.ones(60), x]), group)
    other = other.fit(reml=True)
    assert fit.variances["group"].value == pytest.approx(other.cov_re[0, 0], rel=1e-4)
    assert fit.variances["residual"].value == pytest.approx(other.scale, rel=1e-4)
    assert [line.estimate.value for line in fit.fixed] == pytest.approx(
        np.asarray(other.fe_params).tolist(), rel=1e-3
    )
    assert [line.standard_error for line in fit.fixed] == pytest.approx(
        np.asarray(other.bse_fe).tolist(), rel=5e-3
    )


def test_the_mean_of_a_balanced_design_has_the_degrees_of_freedom_of_its_groups() -> None:
    y = np.random.default_rng(2).normal(size=(7, 4)) + np.arange(7.0)[:, None]
    fit = fitted(y.ravel(), {"operator": np.repeat(np.arange(7), 4)})
    assert fit.fixed[0].df == pytest.approx(6, rel=1e-4)
    ends = stats.t.interval(0.95, 6, y.mean(), np.std(y.mean(axis=1), ddof=1) / np.sqrt(7))
    told = fit.fixed[0].estimate
    assert (told.low, told.high) == pytest.approx(ends, rel=1e-4)


@settings(max_examples=12, deadline=None)
@given(
    seed=st.integers(0, 10**6), shift=st.floats(-1e4, 1e4), scale=st.floats(1e-3, 1e3),
    reml=st.booleans(),
)  # fmt: skip
def test_shift_scale_names_and_order_do_not_matter(
    seed: int, shift: float, scale: float, reml: bool
) -> None:
    random = np.random.default_rng(seed)
    y, _, codes, _ = drawn(seed)
    factors = {"a": codes[0], "b": codes[1]}
    plain = variance_components(y, factors, reml=reml)
    order, names = random.permutation(60), random.permutation(7)
    moved = variance_components(
        (shift + scale * y)[order], {"b": codes[1][order], "a": names[codes[0]][order]}, reml=reml
    )
    assert isinstance(plain, Components)
    assert isinstance(moved, Components)
    assert sum(share.value for share in plain.shares.values()) == pytest.approx(1)
    assert moved.at_zero == plain.at_zero
    for name, told in plain.variances.items():
        other = moved.variances[name]
        assert other.value == pytest.approx(scale**2 * told.value, rel=1e-5, abs=1e-9 * scale**2)
        share = plain.shares[name]
        assert 0 <= share.low <= share.value <= share.high <= 1  # type: ignore[operator]
        assert told.low <= told.value  # type: ignore[operator]
        assert moved.shares[name].low == pytest.approx(share.low, rel=1e-3, abs=1e-5)
        assert moved.shares[name].high == pytest.approx(share.high, rel=1e-3, abs=1e-5)
        if told.high is not None:
            assert told.value <= told.high


def test_a_factor_without_effect_is_exactly_nought() -> None:
    y = [1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 2.0, 1.0, 3.0]
    found = variance_components(y, {"operator": np.repeat(["a", "b", "c"], 3).tolist()})
    assert isinstance(found, Components)
    assert found.at_zero == ("operator",)
    assert (found.variances["operator"].value, found.variances["operator"].low) == (0.0, 0.0)
    assert found.variances["residual"].value == pytest.approx(np.var(y, ddof=1))
    assert [effect.value for effect in found.effects["operator"]] == [0.0] * 3


def test_two_factors_that_say_the_same_are_refused() -> None:
    y = [1.0, 2.0, 3.5, 4.0, 2.0, 1.5]
    found = variance_components(y, {"a": [0, 0, 1, 1, 2, 2], "b": list("xxyyzz")})
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == "levels"
    assert "a and b" in found.said


def test_intervals_of_five_operators_cover() -> None:
    # With one factor every figure is of two mean squares; the calibration is exact for them.
    random = np.random.default_rng(11)
    truth = {"operator": 1.0, "residual": 1.0}
    operator = np.repeat(np.arange(5), 8)
    hits = dict.fromkeys([("variance", "operator"), ("variance", "residual")], 0)
    hits |= dict.fromkeys([("share", "operator"), ("mean", "")], 0)
    for _ in range(1000):
        y = random.normal(size=5)[operator] + random.normal(size=40)
        fit = variance_components(y, {"operator": operator})
        assert isinstance(fit, Components)
        for name, value in truth.items():
            told = fit.variances[name]
            assert told.low is not None
            hits["variance", name] += told.low <= value <= (told.high or np.inf)
        share, mean = fit.shares["operator"], fit.fixed[0].estimate
        hits["share", "operator"] += share.low <= 0.5 <= share.high  # type: ignore[operator]
        hits["mean", ""] += mean.low <= 0 <= mean.high  # type: ignore[operator]
    print({name: count / 1000 for name, count in hits.items()})
    for count in hits.values():
        assert 930 <= count <= 970
