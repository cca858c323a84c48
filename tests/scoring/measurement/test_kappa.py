"""Cohen's kappa against slow formulas, its properties and what its intervals cover."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.kappa import CohenKappa, cohen_kappa, cohen_kappa_from_table
from tests.published.agreement import COHEN, cohen_1968

tables = st.integers(2, 4).flatmap(
    lambda size: st.lists(
        st.lists(st.integers(0, 12), min_size=size, max_size=size), min_size=size, max_size=size
    )
)


def known(found: CohenKappa | TooLittleEvidence) -> CohenKappa:
    assert isinstance(found, CohenKappa)
    return found


def plain(share: np.ndarray, weights: np.ndarray) -> float:
    observed = (weights * share).sum()
    expected = (weights * np.outer(share.sum(1), share.sum(0))).sum()
    return float((observed - expected) / (1 - expected))


def delta_variance(share: np.ndarray, weights: np.ndarray, n: int) -> float:
    """Variance by numerical slopes and the multinomial covariance."""
    slope = np.zeros(share.shape)
    for cell in np.ndindex(*share.shape):
        step = np.zeros(share.shape)
        step[cell] = 1e-6
        slope[cell] = (plain(share + step, weights) - plain(share - step, weights)) / 2e-6
    return float(((share * slope**2).sum() - (share * slope).sum() ** 2) / n)


def test_weighted_variance_is_the_multinomial_one() -> None:
    share = np.array(COHEN["proportions"])
    weights = 1 - np.array(COHEN["disagreement_weights"]) / 6
    assert cohen_1968().variance == pytest.approx(delta_variance(share, weights, 200), rel=1e-5)


@given(tables)
def test_agrees_with_statsmodels_and_stays_on_its_scale(table: list[list[int]]) -> None:
    found = cohen_kappa_from_table(table)
    cells = np.array(table)
    if isinstance(found, TooLittleEvidence):
        assert cells.sum() < 2 or np.count_nonzero(np.diag(cells)) == 1
        return
    assert found.low is not None
    assert found.high is not None
    assert -1 <= found.low <= found.value <= found.high <= 1
    assert found.value <= found.maximum + 1e-12 <= 1 + 2e-12
    if found.z is None:  # the other program divides by 0 there
        return
    with np.errstate(all="ignore"):  # it divides by nothing where one rater uses one word
        oracle = cohens_kappa(cells)
    assert found.value == pytest.approx(oracle.kappa, abs=1e-10)
    assert found.variance == pytest.approx(oracle.var_kappa, abs=1e-10)
    assert found.null_standard_error**2 == pytest.approx(oracle.var_kappa0, abs=1e-10)
    turned = known(cohen_kappa_from_table(cells.T))
    assert turned.value == pytest.approx(found.value)
    doubled = known(cohen_kappa_from_table(2 * cells))
    assert doubled.value == pytest.approx(found.value)
    assert doubled.variance == pytest.approx(found.variance / 2, abs=1e-12)


@pytest.mark.parametrize(("name", "oracle"), [("linear", "linear"), ("quadratic", "quadratic")])
def test_weighted_agrees_with_statsmodels(name: str, oracle: str) -> None:
    table = np.array([[10, 4, 1, 0], [3, 12, 5, 2], [1, 2, 9, 4], [0, 1, 3, 11]])
    found = known(cohen_kappa_from_table(table, weights=name))
    other = cohens_kappa(table, wt=oracle)
    assert found.value == pytest.approx(other.kappa)
    assert found.variance == pytest.approx(other.var_kappa)
    far = np.abs(np.subtract.outer(np.arange(4), np.arange(4))) ** (1 + (name == "quadratic"))
    same = known(cohen_kappa_from_table(table, weights=far, weights_are="disagreement"))
    assert same.value == pytest.approx(found.value)
    turned = 1 - far / far.max()
    assert known(
        cohen_kappa_from_table(table, weights=turned, weights_are="agreement")
    ).value == pytest.approx(found.value)
    assert found.maximum <= 1


def test_sequences_and_tables_and_shares_say_the_same() -> None:
    first, second = list("aabbccab"), list("aabbcaac")
    found = known(cohen_kappa(first, second))
    counted = np.zeros((3, 3))
    for one, other in zip(first, second, strict=True):
        counted["abc".index(one), "abc".index(other)] += 1
    assert known(cohen_kappa_from_table(counted)).value == pytest.approx(found.value)
    assert known(cohen_kappa_from_table(counted / 8, 8)).variance == pytest.approx(found.variance)
    more = known(cohen_kappa([*first, None, "a"], [*second, "b", math.nan]))
    assert (more.value, more.left_out, more.n) == (pytest.approx(found.value), 2, 8)


def test_all_agree_leaves_room_for_doubt() -> None:
    found = known(cohen_kappa([0, 1] * 5, [0, 1] * 5))
    assert (found.value, found.high) == (1, 1)
    assert found.low is not None
    assert 0 < found.low < 0.7
    textbook = known(cohen_kappa([0, 1] * 5, [0, 1] * 5, interval="normal"))
    assert textbook.low is None


@pytest.mark.parametrize(
    ("first", "second", "missing"),
    [([], [], "units"), ([1], [1], "units"), ([1, 1, 1], [1, 1, 1], "variation"),
     ([None, 1], [1, None], "units")],
)  # fmt: skip
def test_too_little(first: list[int], second: list[int], missing: str) -> None:
    found = cohen_kappa(first, second)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


def test_faults_in_the_data_are_told() -> None:
    with pytest.raises(DataError):
        cohen_kappa([1, 2], [1])
    with pytest.raises(DataError):
        cohen_kappa([1, 2, 9], [1, 2, 1], categories=[1, 2])
    with pytest.raises(DataError):
        cohen_kappa([1, math.inf], [1, 2])
    with pytest.raises(DataError):
        cohen_kappa_from_table([[1, 2, 3], [1, 2, 3]])
    with pytest.raises(DataError):
        cohen_kappa_from_table([[0.5, 0.1], [0.1, 0.3]])
    with pytest.raises(DataError):
        cohen_kappa_from_table([[1, 2], [3, -1]])
    with pytest.raises(DataError, match="weights_are"):
        cohen_kappa_from_table([[1, 2], [3, 1]], weights=[[1, 0], [0, 1]])
    with pytest.raises(DataError):
        cohen_kappa_from_table(np.eye(3) * 4, 50)


@pytest.mark.parametrize("n", [30, 100])
def test_intervals_cover(n: int) -> None:
    share = np.array([[0.35, 0.08, 0.02], [0.06, 0.25, 0.04], [0.01, 0.04, 0.15]])
    truth = plain(share, np.eye(3))
    drawn = np.random.default_rng(n).multinomial(n, share.ravel(), size=1000)
    found = [known(cohen_kappa_from_table(one.reshape(3, 3))) for one in drawn]
    covered = np.mean([(one.low or -1) <= truth <= (one.high or 1) for one in found])
    assert 0.93 <= covered <= 0.97


def test_guessing_is_found_different_from_chance_as_often_as_promised() -> None:
    share = np.outer([0.6, 0.4], [0.5, 0.5])
    drawn = np.random.default_rng(5).multinomial(60, share.ravel(), size=1000)
    found = [known(cohen_kappa_from_table(one.reshape(2, 2))) for one in drawn]
    assert np.mean([(one.p_value or 1) < 0.05 for one in found]) <= 0.065
