"""Alpha and its kin: against sums over a covariance matrix, known truths and the degenerate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.credit_table import Floats
from scoring.measurement.reliability import (
    Interval,
    alpha_if_deleted,
    cronbach_alpha,
    guttman_lambda2,
    kr20,
    kr21,
    split_half,
)

TABLES = arrays(
    np.float64, st.tuples(st.integers(4, 12), st.integers(2, 6)), elements=st.integers(0, 4)
)


def value(found: object) -> float:
    assert isinstance(found, Estimate), found
    return found.value


def simulated(random: np.random.Generator, n: int, k: int, share: float) -> Floats:
    """Return items with equal variances of which `share` lies between persons."""
    person = random.normal(size=(n, 1)) * np.sqrt(share)
    table: Floats = person + random.normal(size=(n, k)) * np.sqrt(1 - share)
    return table


@given(TABLES)
@settings(max_examples=60, deadline=None)
def test_alpha_is_the_textbook_sum_over_the_covariance_matrix(table: Floats) -> None:
    found = cronbach_alpha(table)
    cover = np.cov(table, rowvar=False)
    if np.ptp(table.sum(axis=1)) == 0:
        assert isinstance(found, TooLittleEvidence)
        return
    k = len(cover)
    assert value(found) == pytest.approx(k / (k - 1) * (1 - np.trace(cover) / cover.sum()))
    lambda2 = guttman_lambda2(table)
    assert isinstance(lambda2, float)
    assert value(found) - 1e-9 <= lambda2 <= 1 + 1e-9


@given(TABLES, st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_order_scale_and_shift_change_nothing(table: Floats, seed: int) -> None:
    rng = np.random.default_rng(seed)
    moved = rng.permutation(rng.permutation(table, axis=0), axis=1) * 3 + 7
    one, other = cronbach_alpha(table), cronbach_alpha(moved)
    assert isinstance(other, type(one))
    if isinstance(one, Estimate):
        assert value(other) == pytest.approx(one.value)


def test_a_form_doubled_item_by_item_is_as_spearman_brown_or_better() -> None:
    table = simulated(np.random.default_rng(1), 60, 5, 0.4)
    assert value(cronbach_alpha(np.hstack((table, table)))) > value(cronbach_alpha(table))


def test_right_wrong_items_of_one_difficulty_have_kr21_equal_to_kr20() -> None:
    # Rows shifted round: every item is right equally often.
    table = np.array(
        [[float((row + item) % 4 < row % 3) for item in range(4)] for row in range(12)]
    )
    shares = table.mean(axis=0)
    assert np.ptp(shares) == 0
    assert kr21(table) == pytest.approx(value(kr20(table)))
    assert kr21(
        items=4, mean=float(table.sum(axis=1).mean()), variance=float(table.sum(axis=1).var())
    ) == kr21(table)


def test_split_halves_by_hand() -> None:
    table = [[1, 1, 1, 0], [0, 0, 1, 0], [1, 1, 0, 1], [0, 0, 0, 0], [1, 1, 1, 1]]
    one, other = np.array([2, 1, 1, 0, 2]), np.array([1, 0, 2, 0, 2])
    r = np.corrcoef(one, other)[0, 1]
    assert split_half(table) == pytest.approx(2 * r / (1 + r))
    both = 2 * (1 - (one.var() + other.var()) / (one + other).var())
    assert split_half(table, method="guttman") == pytest.approx(both)
    assert split_half(table, first=[False, True, False, True]) == pytest.approx(split_half(table))


def test_alpha_without_an_item_is_alpha_of_the_others() -> None:
    table = simulated(np.random.default_rng(2), 40, 4, 0.5)
    for at, found in enumerate(alpha_if_deleted(table)):
        rest = value(cronbach_alpha(np.delete(table, at, axis=1)))
        assert value(found.alpha) == pytest.approx(rest)
        assert found.change == pytest.approx(rest - value(cronbach_alpha(table)))


def test_standardized_alpha_is_that_of_equal_variances() -> None:
    table = simulated(np.random.default_rng(3), 50, 4, 0.5) * [1, 5, 2, 9]
    mean = (np.corrcoef(table, rowvar=False).sum() - 4) / 12
    found = cronbach_alpha(table, standardized=True)
    assert value(found) == pytest.approx(4 * mean / (1 + 3 * mean))


def test_a_person_with_a_missing_item_is_left_out_and_n_says_so() -> None:
    table = simulated(np.random.default_rng(4), 20, 3, 0.5)
    holed = np.vstack((table, [[np.nan, 1, 1]]))
    found = cronbach_alpha(holed)
    assert found == cronbach_alpha(table)
    assert isinstance(found, Estimate)
    assert found.n == 20


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        ([[1], [0], [1]], "items"),
        ([[1, 0]], "persons"),
        (np.empty((0, 3)), "persons"),
        (np.ones((20, 4)), "spread"),
        (np.zeros((20, 4)), "spread"),
        ([[1, 0], [0, 1], [1, 0], [0, 1]], "spread"),
        ([[np.nan, 1]] * 9, "persons"),
    ],
)
def test_degenerate_tables_say_what_is_missing(table: Floats, missing: str) -> None:
    for found in (cronbach_alpha(table), kr20(table), guttman_lambda2(table), split_half(table)):
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == missing
        assert found.said.endswith(".")
    assert isinstance(kr21(table), TooLittleEvidence)


def test_credits_that_are_not_right_or_wrong_have_no_kr20() -> None:
    with pytest.raises(DataError, match="item 2"):
        kr20([[1.0, 0.5], [0.0, 1.0], [1.0, 1.0]])
    with pytest.raises(ValueError, match="either"):
        kr21(items=3)
    with pytest.raises(DataError):
        kr21(items=10, mean=11, variance=2)


def coverage(interval: Interval, tables: list[Floats], truth: float) -> float:
    hits = 0
    for table in tables:
        found = cronbach_alpha(table, interval=interval)
        assert isinstance(found, Estimate)
        assert found.low is not None
        assert found.high is not None
        hits += found.low <= truth <= found.high
    return hits / len(tables)


@pytest.mark.parametrize("interval", ["feldt", "bonett"])
def test_intervals_cover_for_normal_items(interval: Interval) -> None:
    random = np.random.default_rng(11)
    k, share = 6, 0.3
    truth = k * share / (1 + (k - 1) * share)
    tables = [simulated(random, 40, k, share) for _ in range(1500)]
    assert 0.93 <= coverage(interval, tables, truth) <= 0.97


def test_the_distribution_free_interval_covers_for_unequal_right_wrong_items() -> None:
    random = np.random.default_rng(12)
    hard = np.array([-1.5, -0.5, 0.0, 0.5, 1.5, 2.0])

    def draw(n: int) -> Floats:
        latent = random.normal(size=(n, 1)) + random.normal(size=(n, 6))
        return (latent > hard).astype(np.float64)

    # The truth from a sample so large that its error is far below the intervals' width.
    truth = value(cronbach_alpha(draw(400_000)))
    tables = [draw(200) for _ in range(1000)]
    assert 0.93 <= coverage("distribution-free", tables, truth) <= 0.97


def test_the_bootstrap_is_the_same_for_the_same_seed_and_near_the_exact_one() -> None:
    table = simulated(np.random.default_rng(13), 200, 6, 0.3)
    one = cronbach_alpha(table, interval="bootstrap", seed=4)
    exact = cronbach_alpha(table)
    assert one == cronbach_alpha(table, interval="bootstrap", seed=4)
    assert isinstance(one, Estimate)
    assert isinstance(exact, Estimate)
    assert one.low == pytest.approx(exact.low, abs=0.05)
    assert one.high == pytest.approx(exact.high, abs=0.05)
