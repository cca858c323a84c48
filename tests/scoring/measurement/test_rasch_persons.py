"""Person measures against direct solutions; almost no bias; information and reliability."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import norm

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_persons import (
    PersonMeasures,
    ability_at,
    conditional_error,
    expected_score,
    information,
    person_measures,
    separation_reliability,
)

ITEMS = np.linspace(-2, 2, 20)


def chance(ability: float, difficulty: np.ndarray = ITEMS) -> np.ndarray:
    return 1 / (1 + np.exp(difficulty - ability))


def simulated(rng: np.random.Generator, ability: np.ndarray) -> np.ndarray:
    return (rng.random((len(ability), 20)) < 1 / (1 + np.exp(ITEMS - ability[:, None]))).astype(
        float
    )


def scored(score: int) -> np.ndarray:
    return np.array([[1.0] * score + [0.0] * (20 - score)])


@pytest.mark.parametrize("score", [0, 1, 7, 19, 20])
def test_each_measure_solves_its_own_equation(score: int) -> None:
    def warm(at: float) -> float:
        # Jeffreys: the likelihood times the root of the information is highest.
        def log(x: float) -> float:
            p = chance(x)
            return float(score * x + np.log(1 - p).sum() + 0.5 * np.log((p * (1 - p)).sum()))

        return (log(at + 1e-5) - log(at - 1e-5)) / 2e-5

    table = scored(score)
    one = person_measures(table, ITEMS)
    assert one.ability[0] == pytest.approx(brentq(warm, -15, 15), abs=1e-5)
    p = chance(float(one.ability[0]))
    assert one.standard_error[0] == pytest.approx((p * (1 - p)).sum() ** -0.5)
    most = person_measures(table, ITEMS, method="mle").ability[0]
    if 0 < score < 20:
        assert chance(float(most)).sum() == pytest.approx(score)
    else:
        assert np.isnan(most)

    def weight(x: float) -> float:
        return float(np.exp(score * x + np.log(1 - chance(x)).sum())) * norm.pdf(x, 0.5, 1.2)

    area = quad(weight, -9, 9, epsabs=0)[0]
    mean = quad(lambda x: x * weight(x), -9, 9, epsabs=0)[0] / area
    sd = np.sqrt(quad(lambda x: (x - mean) ** 2 * weight(x), -9, 9, epsabs=0)[0] / area)
    usual = person_measures(table, ITEMS, method="eap", mean=0.5, spread=1.2)
    assert usual.ability[0] == pytest.approx(mean, abs=1e-6)
    assert usual.standard_error[0] == pytest.approx(sd, abs=1e-6)


@pytest.mark.parametrize("truth", [-2.0, -1.0, 0.0, 1.0, 2.0])
def test_weighted_likelihood_has_almost_no_bias_and_covers(truth: float) -> None:
    table = simulated(np.random.default_rng(1), np.full(4000, truth))
    warm = person_measures(table, ITEMS)
    # Standard error of the mean is below 0.01.
    assert np.mean(warm.ability) == pytest.approx(truth, abs=0.04)
    # A score is a whole number, so the share covered jumps with the truth.
    inside = np.abs(warm.ability - truth) < 1.96 * warm.standard_error
    assert 0.92 <= inside.mean() <= 0.98
    plain = person_measures(table, ITEMS, method="mle").ability
    if abs(truth) == 2.0:
        assert abs(np.nanmean(plain) - truth) > 2 * abs(np.mean(warm.ability) - truth)


def test_intervals_cover_over_a_population() -> None:
    rng = np.random.default_rng(2)
    truth = rng.normal(size=5000)
    warm = person_measures(simulated(rng, truth), ITEMS)
    assert 0.93 <= np.mean(np.abs(warm.ability - truth) < 1.96 * warm.standard_error) <= 0.97


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["wle", "mle", "eap"]))
def test_more_right_is_more_able_and_order_does_not_matter(seed: int, method: str) -> None:
    rng = np.random.default_rng(seed)
    difficulty = 3 * rng.normal(size=8)
    table = np.tril(np.ones((9, 8)), -1)
    more = person_measures(table, difficulty, method=method, spread=1.0)  # type: ignore[arg-type]
    kept = ~np.isnan(more.ability)
    assert (np.diff(more.ability[kept]) > 0).all()
    column = rng.permutation(8)
    other = person_measures(
        table[::-1][:, column],
        difficulty[column],
        method=method,
        spread=1.0,  # type: ignore[arg-type]
    )
    assert other.ability[::-1] == pytest.approx(more.ability, abs=1e-8, nan_ok=True)
    moved = person_measures(table, difficulty + 1, method=method, mean=1.0, spread=1.0)  # type: ignore[arg-type]
    assert moved.ability == pytest.approx(more.ability + 1, abs=1e-7, nan_ok=True)


def test_persons_meet_different_items_and_some_none() -> None:
    table = np.array([[1, 0, np.nan], [np.nan, 1, 0], [np.nan] * 3, [1, 1, 1]])
    found = person_measures(table, {"a": -1.0, "b": 0.0, "c": 1.0}, items=["a", "b", "c"])
    assert found.maximum.tolist() == [2, 2, 0, 3]
    assert found.ability[1] == pytest.approx(found.ability[0] + 1)
    assert isinstance(found.of(0), Estimate)
    none = found.of(2)
    assert isinstance(none, TooLittleEvidence)
    assert np.isfinite(found.ability[3])
    most = person_measures(table, [-1.0, 0.0, 1.0], method="mle").of(3)
    assert isinstance(most, TooLittleEvidence)
    without = person_measures(table, {"a": -1.0}, items=["a", "b", "c"])
    assert without.maximum.tolist() == [1, 0, 0, 1]
    with pytest.raises(DataError):
        found.of("nobody")


def test_test_curves() -> None:
    at = np.array([-3.0, 0.0, 2.5])
    assert expected_score(at, ITEMS) == pytest.approx([chance(x).sum() for x in at])
    assert ability_at(expected_score(at, ITEMS), ITEMS) == pytest.approx(at)
    step = 1e-5
    slope = (expected_score(at + step, ITEMS) - expected_score(at - step, ITEMS)) / (2 * step)
    assert information(at, ITEMS) == pytest.approx(slope, rel=1e-6)
    assert conditional_error(at, ITEMS) == pytest.approx(slope**-0.5, rel=1e-6)
    assert conditional_error(at, ITEMS, scale="score") == pytest.approx(slope**0.5, rel=1e-6)
    for bad in (0, 20, -1):
        with pytest.raises(DataError):
            ability_at(bad, ITEMS)
    with pytest.raises(DataError):
        information(np.nan, ITEMS)
    with pytest.raises(DataError):
        conditional_error(0.0, ITEMS, scale="grade")  # type: ignore[arg-type]


def test_reliability_is_the_share_of_true_variance() -> None:
    rng = np.random.default_rng(3)
    truth = rng.normal(size=4000)
    table = simulated(rng, truth)
    fit = rasch(table)
    assert isinstance(fit, RaschFit)
    for method in ("wle", "eap"):
        found = person_measures(table, fit, method=method)  # type: ignore[arg-type]
        wanted = np.corrcoef(found.ability, truth)[0, 1] ** 2
        told = separation_reliability(found)
        assert isinstance(told, Estimate)
        assert told.value == pytest.approx(wanted, abs=0.02)


def test_too_little_and_refusals() -> None:
    one = person_measures(scored(3), ITEMS)
    assert isinstance(separation_reliability(one), TooLittleEvidence)
    same = person_measures(np.vstack([scored(3)] * 5), ITEMS)
    told = separation_reliability(same)
    assert isinstance(told, TooLittleEvidence)
    assert told.missing == "variance"
    assert isinstance(person_measures([[1.0]], [0.3]), PersonMeasures)
    for bad in ([0.0], [np.inf] * 20):
        with pytest.raises(DataError):
            person_measures(scored(3), bad)
    with pytest.raises(DataError, match="spread"):
        person_measures(scored(3), ITEMS, method="eap")
    with pytest.raises(DataError, match="method"):
        person_measures(scored(3), ITEMS, method="guess")  # type: ignore[arg-type]
    empty = person_measures(np.empty((0, 20)), ITEMS)
    assert len(empty.ability) == 0
