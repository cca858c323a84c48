"""Fleiss, Conger, Gwet, Brennan-Prediger and Krippendorff against slow definitions."""

from __future__ import annotations

import math
from itertools import permutations
from typing import Any

import krippendorff
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.agreement_weights import WEIGHTS, agreement_weights
from scoring.measurement.chance_corrected import Coefficient, ends, error_of, parts
from scoring.measurement.fleiss import (
    FleissKappa,
    conger_kappa,
    fleiss_kappa,
    fleiss_kappa_from_counts,
)
from scoring.measurement.gwet import (
    ONE_CATEGORY,
    brennan_prediger,
    gwet_ac1,
    gwet_ac2,
    gwet_from_counts,
)
from scoring.measurement.kappa import CohenKappa, cohen_kappa
from scoring.measurement.krippendorff_alpha import (
    LEVELS,
    KrippendorffAlpha,
    Level,
    krippendorff_alpha,
    krippendorff_alpha_from_counts,
)
from scoring.measurement.rating_grid import rating_grid, rating_grid_from_long

rating = st.one_of(st.none(), st.integers(1, 4))
grids = st.integers(2, 4).flatmap(
    lambda raters: st.lists(
        st.lists(rating, min_size=raters, max_size=raters), min_size=raters + 1, max_size=9
    )
)


def known(found: object) -> Coefficient:
    if isinstance(found, FleissKappa):
        return found.total
    assert isinstance(found, Coefficient)
    return found


def alpha(found: object) -> KrippendorffAlpha:
    assert isinstance(found, KrippendorffAlpha)
    return found


def slow(table: list[list[Any]], weights: np.ndarray, kind: str) -> float:
    """Agreement rating by rating: each unit's ordered pairs of raters, one after the other."""
    units = [[one - 1 for one in row if one is not None] for row in table]
    units = [row for row in units if row]
    paired = [row for row in units if len(row) > 1]
    observed = np.mean([np.mean([weights[a, b] for a, b in permutations(r, 2)]) for r in paired])
    size = len(weights)
    use = [float(np.mean([row.count(k) / len(row) for row in units])) for k in range(size)]
    if kind == "fleiss":
        expected = sum(weights[k, m] * use[k] * use[m] for k in range(size) for m in range(size))
    elif kind == "gwet":
        expected = weights.sum() * sum(one * (1 - one) for one in use) / (size * (size - 1))
    else:
        expected = weights.sum() / size**2
    return float((observed - expected) / (1 - expected))


@given(grids, st.sampled_from(WEIGHTS))
def test_coefficients_are_their_slow_definition(table: list[list[Any]], name: Any) -> None:
    scale = (1, 2, 3, 4)
    grid = rating_grid(table, categories=scale)
    weights = agreement_weights(scale, name)
    for kind, found in (
        ("gwet", gwet_ac2(grid, weights=name)),
        ("fleiss", fleiss_kappa(grid, weights=name)),
        ("brennan_prediger", brennan_prediger(grid, weights=name)),
    ):
        if isinstance(found, TooLittleEvidence):
            paired = [row for row in table if sum(one is not None for one in row) > 1]
            assert len(paired) < 2 or len({one for row in table for one in row} - {None}) == 1
            continue
        held = known(found)
        assert held.value == pytest.approx(slow(table, weights, kind), abs=1e-9)
        assert held.low is not None
        assert held.high is not None
        assert held.low <= held.value <= held.high <= 1


@given(grids, st.randoms(use_true_random=False))
def test_order_and_names_do_not_matter(table: list[list[Any]], random: Any) -> None:
    scale = (1, 2, 3, 4)
    renamed = dict(zip([*scale, None], [*random.sample("abcd", 4), None], strict=True))
    mixed = [random.sample(row, len(row)) for row in table]
    random.shuffle(mixed)
    other = [[renamed[one] for one in row] for row in mixed]
    pairs = [
        (gwet_ac1(table, categories=scale), gwet_ac1(other, categories="abcd")),
        (fleiss_kappa(table, categories=scale), fleiss_kappa(other, categories="abcd")),
        (
            krippendorff_alpha(table, categories=scale),
            krippendorff_alpha(other, categories="abcd"),
        ),
    ]
    for one, two in pairs:
        if isinstance(one, TooLittleEvidence):
            assert isinstance(two, TooLittleEvidence)
            continue
        assert not isinstance(two, TooLittleEvidence)
        first = one.total if isinstance(one, FleissKappa) else one
        second = two.total if isinstance(two, FleissKappa) else two
        assert first.value == pytest.approx(second.value, abs=1e-9)
        assert first.low == pytest.approx(second.low, abs=1e-6)


@given(grids, st.sampled_from(LEVELS))
@settings(deadline=None)
def test_alpha_is_that_of_another_program(table: list[list[Any]], level: Level) -> None:
    found = krippendorff_alpha(table, level)
    if isinstance(found, TooLittleEvidence):
        return
    data = np.array([[np.nan if one is None else one for one in row] for row in table], float).T
    oracle = krippendorff.alpha(reliability_data=data, level_of_measurement=level)
    assert found.value == pytest.approx(oracle, abs=1e-9)
    assert found.low is None or found.low <= found.value <= (found.high or 1)


def test_conger_of_two_raters_is_cohens() -> None:
    generator = np.random.default_rng(8)
    table = generator.integers(1, 4, size=(25, 2))
    cohen = cohen_kappa(table[:, 0], table[:, 1])
    assert isinstance(cohen, CohenKappa)
    assert known(conger_kappa(table)).value == pytest.approx(cohen.value)


@pytest.mark.parametrize("weights", ["identity", "quadratic"])
def test_congers_error_is_that_of_leaving_out_each_unit(weights: Any) -> None:
    generator = np.random.default_rng(4)
    table = generator.integers(1, 5, size=(30, 4)).astype(float)
    table[generator.random(table.shape) < 0.3] = np.nan
    table = table[~np.isnan(table).all(axis=1)]
    found = known(conger_kappa(table, weights=weights))
    scale = found.categories
    without = [
        known(conger_kappa(np.delete(table, unit, axis=0), weights=weights, categories=scale)).value
        for unit in range(len(table))
    ]
    n = len(table)
    assert found.standard_error == pytest.approx(np.std(without) * np.sqrt(n - 1))


def test_counts_say_what_ratings_say() -> None:
    table = np.random.default_rng(3).integers(1, 4, size=(20, 5))
    counts = rating_grid(table).counts
    assert known(fleiss_kappa_from_counts(counts)).value == known(fleiss_kappa(table)).value
    assert known(gwet_from_counts(counts)).standard_error == known(gwet_ac1(table)).standard_error
    assert alpha(krippendorff_alpha_from_counts(counts, "ordinal")).value == pytest.approx(
        alpha(krippendorff_alpha(table, "ordinal")).value
    )


def test_three_errors_are_near_each_other() -> None:
    table = np.random.default_rng(4).integers(1, 3, size=(80, 4))
    errors = [
        known(fleiss_kappa(table, error=error, seed=1)).standard_error
        for error in ("linearised", "jackknife", "bootstrap")
    ]
    assert max(errors) < 1.15 * min(errors)
    with pytest.raises(DataError, match="seed"):
        fleiss_kappa(table, error="bootstrap")
    with pytest.raises(DataError, match="seed"):
        krippendorff_alpha(table, interval="bootstrap")
    one, two = (
        alpha(krippendorff_alpha(table, "ordinal", interval="bootstrap", seed=2)) for _ in "ab"
    )
    assert one == two
    assert one.standard_error == pytest.approx(
        alpha(krippendorff_alpha(table, "ordinal")).standard_error, rel=0.15
    )


def test_one_category_is_told() -> None:
    table = [[1, 1]] * 9
    assert isinstance(fleiss_kappa(table), TooLittleEvidence)
    assert isinstance(conger_kappa(table), TooLittleEvidence)
    assert isinstance(krippendorff_alpha(table), TooLittleEvidence)
    for categories in (None, (0, 1)):
        found = known(gwet_ac1(table, categories=categories))
        assert (found.value, found.note) == (1, ONE_CATEGORY)
        assert found.low is not None
        assert found.low < 1


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        ([], "ratings"),
        ([[None, None]] * 3, "ratings"),
        ([[1, None], [None, 2], [1, None]], "raters"),
        ([[1, 1], [None, 2], [1, None]], "units"),
        ([[1], [2]], "raters"),
    ],
)
def test_too_little(table: list[list[Any]], missing: str) -> None:
    for found in (
        gwet_ac1(table), brennan_prediger(table), fleiss_kappa(table), conger_kappa(table),
        krippendorff_alpha(table),
    ):  # fmt: skip
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == missing


def test_a_table_on_its_side_is_refused() -> None:
    wide = [[1, 2, 1, 2, 1], [1, 2, 1, 1, 1]]
    with pytest.raises(DataError, match="shape"):
        gwet_ac1(wide)
    told = known(gwet_ac1(wide, rows="raters"))
    assert told.value == known(gwet_ac1(np.array(wide).T)).value
    assert told.n == 5
    with pytest.raises(DataError, match="unit 1"):
        fleiss_kappa_from_counts([[3, 0], [1, 1], [2, 1]])


def test_faults_in_the_data_are_told() -> None:
    with pytest.raises(DataError):
        rating_grid_from_long([1, 1], ["A", "A"], [0, 1])
    with pytest.raises(DataError):
        rating_grid_from_long([1, None], ["A", "B"], [0, 1])
    with pytest.raises(DataError):
        rating_grid([[1, 2], [3, math.inf], [1, 1]])
    with pytest.raises(DataError):
        rating_grid([[1, 2], [5, 1], [1, 1]], categories=(1, 2))
    with pytest.raises(DataError):
        krippendorff_alpha([["a", "b"], ["a", "a"], ["b", "b"]], "interval")
    with pytest.raises(DataError):
        gwet_from_counts([[0.5, 1.5], [1, 1]])


@pytest.mark.parametrize("kind", ["fleiss", "gwet", "alpha"])
@pytest.mark.parametrize(("n", "raters", "right"), [(40, 2, 0.9), (60, 4, 0.6)])
def test_intervals_cover(kind: Any, n: int, raters: int, right: float) -> None:
    generator = np.random.default_rng(11)
    share = [0.4, 0.3, 0.2, 0.1]

    def draw(size: int) -> np.ndarray:
        true = generator.choice(4, size=size, p=share)
        guess = generator.choice(4, size=(size, raters), p=share)
        seen = np.where(generator.random((size, raters)) < right, true[:, None], guess)
        return (seen[:, :, None] == np.arange(4)).sum(axis=1).astype(float)

    large = draw(200_000)
    # With many units alpha and Fleiss' kappa are the same.
    held = parts(large, np.eye(4), "gwet" if kind == "gwet" else "fleiss")
    assert held is not None
    covered = []
    for _ in range(1000):
        counts = draw(n)
        if kind == "alpha":
            one = alpha(krippendorff_alpha_from_counts(counts))
            low, high = one.low, one.high
        else:
            found = parts(counts, np.eye(4), kind)
            assert found is not None
            low, high = ends(
                found.value, error_of(found.pull), expected=found.expected, n=n, confidence=0.95,
                interval="score",
            )  # fmt: skip
        covered.append(low is not None and high is not None and low <= held.value <= high)
    assert 0.93 <= np.mean(covered) <= 0.97
