"""Conditional likelihood against enumeration of all answers, coverage, Andersen's test."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.rasch_conditional import (
    ConditionalFit,
    LikelihoodRatio,
    andersen,
    log_symmetric,
    rasch_conditional,
)

DIFFICULTY = np.array([-1.5, -0.5, 0.0, 0.5, 1.5])


def simulated(
    rng: np.random.Generator, ability: np.ndarray, difficulty: np.ndarray = DIFFICULTY
) -> np.ndarray:
    chance = 1 / (1 + np.exp(difficulty - ability[:, None]))
    return (rng.random(chance.shape) < chance).astype(float)


def fitted(*args: object, **more: object) -> ConditionalFit:
    found = rasch_conditional(*args, **more)  # type: ignore[arg-type]
    assert isinstance(found, ConditionalFit)
    return found


def enumerated(table: np.ndarray, easiness: np.ndarray) -> float:
    """Sum over persons the chance of the answers among all that give the same score."""
    total = 0.0
    for row in table:
        met = ~np.isnan(row)
        own, known = row[met], easiness[met]
        same = [x for x in product([0, 1], repeat=int(met.sum())) if sum(x) == own.sum()]
        total += own @ known - np.log(sum(np.exp(np.array(x) @ known) for x in same))
    return total


def test_is_the_maximum_of_the_enumerated_likelihood() -> None:
    rng = np.random.default_rng(1)
    table = simulated(rng, rng.normal(size=60))
    table[:25, 4] = np.nan
    fit = fitted(table)
    best = minimize(
        lambda free: -enumerated(table, np.append(free, -free.sum())), np.zeros(4), tol=1e-10
    )
    assert fit.log_likelihood == pytest.approx(-best.fun, abs=1e-8)
    assert -fit.difficulty[:4] == pytest.approx(best.x, abs=1e-3)
    # The numerical curvature gives the standard errors.
    step, easiness = 1e-3, -fit.difficulty
    curve = np.empty((4, 4))
    basis = np.vstack([np.eye(4), -np.ones(4)])
    for i, j in product(range(4), repeat=2):
        corners = [
            a
            * b
            * enumerated(table, easiness + step * basis @ (a * np.eye(4)[i] + b * np.eye(4)[j]))
            for a, b in product([-1, 1], repeat=2)
        ]
        curve[i, j] = -sum(corners) / (4 * step**2)
    wanted = np.sqrt(np.diagonal(basis @ np.linalg.inv(curve) @ basis.T))
    assert fit.standard_error == pytest.approx(wanted, rel=1e-3)


def test_symmetric_functions_are_sums_of_products() -> None:
    easiness = np.array([0.3, -1.0, 2.0, 0.1])
    products = np.zeros(5)
    for taken in product([0, 1], repeat=4):
        products[sum(taken)] += np.exp(np.array(taken) @ easiness)
    assert np.exp(log_symmetric(easiness)) == pytest.approx(products)


def test_intervals_cover_the_truth() -> None:
    rng = np.random.default_rng(2)
    inside = []
    for _ in range(1000):
        # No normal population: half are weak, half are strong.
        ability = np.where(rng.random(150) < 0.5, -1.0, 1.5)
        fit = fitted(simulated(rng, ability))
        inside.append(np.abs(fit.difficulty - DIFFICULTY) < 1.96 * fit.standard_error)
    assert 0.93 <= np.mean(inside) <= 0.97


def test_long_tests_and_very_unequal_items_lose_no_digits() -> None:
    rng = np.random.default_rng(3)
    difficulty = np.linspace(-4, 4, 110)
    table = simulated(rng, 1.5 * rng.normal(size=800), difficulty)
    fit = fitted(table)
    off = (fit.difficulty - (difficulty - difficulty.mean())) / fit.standard_error
    assert np.abs(off).max() < 4.5
    assert np.std(off) == pytest.approx(1.0, abs=0.2)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_order_counts_and_extreme_persons_do_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    table = simulated(rng, rng.normal(size=80))
    fit = rasch_conditional(table, items=list("abcde"))
    if isinstance(fit, TooLittleEvidence):
        return
    row, column = rng.permutation(80), rng.permutation(5)
    other = fitted(table[row][:, column], items=np.array(list("abcde"))[column].tolist())
    more = fitted(np.vstack([table, np.ones((30, 5)), np.zeros((30, 5))]))
    for name in "abcde":
        one, another = fit.of(name), other.of(name)
        assert isinstance(one, Estimate)
        assert isinstance(another, Estimate)
        assert one.value == pytest.approx(another.value, abs=1e-6)
    assert more.difficulty == pytest.approx(fit.difficulty, abs=1e-6)
    assert more.n == fit.n
    first = fitted(table, normalisation="first")
    assert first.difficulty == pytest.approx(fit.difficulty - fit.difficulty[0], abs=1e-6)
    assert first.standard_error[0] == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        (np.ones((50, 4)), "items"),
        (np.empty((0, 3)), "items"),
        ([[1, 0], [0, 1]], "persons"),
        ([[1, 1], [0, 0]] * 20, "common items"),
        ([[1, 0, 1], [1, 0, 0], [1, 1, 0], [0, 0, 0]] * 20, "common items"),
        ([[1, 0, None, None], [0, 1, None, None], [None, None, 1, 0], [None, None, 0, 1]] * 9,
         "common items"),
    ],
)  # fmt: skip
def test_too_little_is_told(table: object, missing: str) -> None:
    found = rasch_conditional(table)  # type: ignore[arg-type]
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


def test_andersens_test_keeps_its_level_and_finds_unequal_discriminations() -> None:
    rng = np.random.default_rng(4)
    small = []
    for _ in range(200):
        found = andersen(simulated(rng, rng.normal(size=300)))
        assert isinstance(found, LikelihoodRatio)
        small.append(found.p_value < 0.05)
    assert np.mean(small) <= 0.085
    slope = np.array([0.3, 0.3, 1.0, 2.5, 2.5])
    ability = rng.normal(size=1000)
    table = (rng.random((1000, 5)) < 1 / (1 + np.exp(-slope * ability[:, None]))).astype(float)
    found = andersen(table)
    assert isinstance(found, LikelihoodRatio)
    assert found.p_value < 1e-6
    assert found.degrees_of_freedom == 4


def test_andersens_test_by_named_groups_and_with_too_little() -> None:
    rng = np.random.default_rng(5)
    table = simulated(rng, rng.normal(size=200))
    group = np.where(np.arange(200) % 2, "day", "night")
    found = andersen(table, split=group.tolist())
    swapped = andersen(table[::-1], split=group[::-1].tolist())
    assert isinstance(found, LikelihoodRatio)
    assert isinstance(swapped, LikelihoodRatio)
    assert found.statistic == pytest.approx(swapped.statistic, abs=1e-6)
    assert isinstance(andersen(np.ones((20, 3))), TooLittleEvidence)
    assert isinstance(andersen(table, split=["one"] * 200), TooLittleEvidence)
    assert isinstance(andersen(table[:4], split="median"), TooLittleEvidence)
    with pytest.raises(DataError):
        andersen(table, split=["one"])
    with pytest.raises(DataError):
        rasch_conditional(table, normalisation="last")  # type: ignore[arg-type]
