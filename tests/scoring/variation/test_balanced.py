"""Balanced designs: against the likelihood, against plain sums, and what the intervals cover."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.balanced import one_way, two_way_crossed
from scoring.variation.balanced_components import (
    BalancedComponents,
    crossed_components,
    nested_components,
)
from scoring.variation.components import Components, variance_components
from scoring.variation.mean_square_intervals import mean_square_limits


def drawn(shape: tuple[int, ...], sds: dict[tuple[int, ...], float], seed: int) -> np.ndarray:
    """Draw cells with effects of some axes."""
    random = np.random.default_rng(seed)
    y = random.normal(size=shape)
    for axes, sd in sds.items():
        size = tuple(n if axis in axes else 1 for axis, n in enumerate(shape))
        y = y + sd * random.normal(size=size)
    return np.asarray(y)


def agrees(closed: object, y: np.ndarray, codes: dict[str, np.ndarray]) -> None:
    assert isinstance(closed, BalancedComponents)
    assert min(closed.raw.values()) > 0
    fit = variance_components(y.ravel(), codes, intervals=False)
    assert isinstance(fit, Components)
    for name, value in closed.raw.items():
        assert fit.variances[name].value == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize("shape", [(12, 6, 3), (9, 7)])
def test_two_ways_equal_the_likelihood(shape: tuple[int, ...]) -> None:
    sds: dict[tuple[int, ...], float] = {(0,): 1.5, (1,): 1.2}
    if len(shape) == 3:
        sds[0, 1] = 1.0
    y = drawn(shape, sds, 3)
    o, s = (axis.ravel() for axis in np.indices(shape)[:2])
    codes = {"operator": o, "scenario": s}
    if len(shape) == 3:
        codes["operator:scenario"] = o * shape[1] + s
    agrees(crossed_components(y, ["operator", "scenario"]), y, codes)


def test_three_ways_equal_the_likelihood() -> None:
    shape = (8, 6, 5)
    y = drawn(shape, {(0,): 1.5, (1,): 1.3, (2,): 1.2, (0, 1): 1, (0, 2): 1, (1, 2): 1}, 6)
    o, s, r = (axis.ravel() for axis in np.indices(shape))
    codes = {"o": o, "s": s, "r": r, "o:s": o * 6 + s, "o:r": o * 5 + r, "s:r": s * 5 + r}
    agrees(crossed_components(y, ["o", "s", "r"]), y, codes)


def test_nested_and_one_way_equal_the_likelihood() -> None:
    y = drawn((10, 3, 2), {(0,): 1.5, (0, 1): 1.2}, 3)
    batch, cask, _ = (axis.ravel() for axis in np.indices(y.shape))
    agrees(nested_components(y, ["batch", "cask"]), y, {"batch": batch, "cask": batch * 3 + cask})
    single = y.reshape(10, 6)
    found = nested_components(single, ["batch"])
    agrees(found, single, {"batch": batch})
    assert isinstance(found, BalancedComponents)
    table = one_way(single.ravel(), np.repeat(np.arange(10), 6).tolist())
    assert not isinstance(table, TooLittleEvidence)
    f, p = stats.f_oneway(*single)
    for line in (table.between, found.lines["batch"]):
        assert (line.f, line.p) == pytest.approx((f, p), rel=1e-10)


def test_two_ways_give_the_table_with_repeats() -> None:
    y = drawn((5, 4, 3), {(0,): 1.0, (0, 1): 0.5}, 8)
    table, other = two_way_crossed(y), crossed_components(y, ["rows", "columns"])
    assert not isinstance(table, TooLittleEvidence)
    assert isinstance(other, BalancedComponents)
    for line, name in (
        (table.rows, "rows"),
        (table.columns, "columns"),
        (table.interaction, "rows:columns"),
        (table.within, "residual"),
    ):
        mine = other.lines[name]
        assert (mine.ss, mine.df) == pytest.approx((line.ss, line.df), rel=1e-10)
        if line.f is None or line.p is None:
            assert (mine.f, mine.p) == (None, None)
        else:
            assert (mine.f, mine.p) == pytest.approx((line.f, line.p), rel=1e-10)


@pytest.mark.parametrize(
    ("coefficients", "dfs"),
    [
        ([0.1, 0.6], [2, 18]),
        ([1 / 18, -1 / 18], [19, 95]),
        ([0.1, -0.1, -0.1, 0.1], [9, 27, 18, 54]),
    ],
)
def test_intervals_of_sums_and_differences_cover(coefficients: list[float], dfs: list[int]) -> None:
    random = np.random.default_rng(2)
    truth = np.array([9.0, 2.0, 3.0, 1.0])[: len(dfs)]
    drawn_ms = truth * random.chisquare(dfs, size=(2000, len(dfs))) / dfs
    limits = [mean_square_limits(coefficients, ms.tolist(), dfs, 0.95) for ms in drawn_ms]
    wanted = float(np.dot(coefficients, truth))
    covered = np.mean([low <= wanted <= high for low, high in limits])
    print(f"covered {covered:.3f}")
    assert 0.93 <= covered <= 0.975


def test_one_mean_square_alone_has_its_exact_interval() -> None:
    low, high = mean_square_limits([1.0], [2.5], [7], 0.95)
    assert (low, high) == pytest.approx(tuple(7 * 2.5 / stats.chi2(7).ppf([0.975, 0.025])))


def test_shift_and_scale_and_order_of_levels() -> None:
    y = drawn((6, 5, 4), {(0,): 1.0}, 2)
    plain = crossed_components(y, ["a", "b"])
    moved = crossed_components(1000 + 3 * y[::-1, [2, 0, 1, 4, 3]], ["a", "b"])
    assert isinstance(plain, BalancedComponents)
    assert isinstance(moved, BalancedComponents)
    for name, value in plain.raw.items():
        assert moved.raw[name] == pytest.approx(9 * value, rel=1e-9, abs=1e-9)
        assert moved.lines[name].p == pytest.approx(plain.lines[name].p)


def test_what_is_missing_is_said() -> None:
    for found in (
        crossed_components(np.ones((1, 5)), ["a", "b"]),
        crossed_components(np.ones((3, 5)), ["a", "b"]),
        nested_components([[1.0, 2.0, 3.0]], ["a"]),
        two_way_crossed(np.ones((2, 2, 1))),
        one_way([1.0, 2.0], ["a", "b"]),
    ):
        assert isinstance(found, TooLittleEvidence)
        assert found.said.endswith(".")
    for cells in ([1.0, 2.0], [[1.0, float("nan")], [1.0, 2.0]]):
        with pytest.raises(DataError):
            crossed_components(cells, ["a", "b"])
