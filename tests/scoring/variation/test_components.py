"""Variance components against the dense likelihood, closed forms and bad input."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.balanced import two_way_crossed
from scoring.variation.components import Components, variance_components
from scoring.variation.mixed_likelihood import Likelihood, Numbers, gather


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
