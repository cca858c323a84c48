"""Accuracy and consistency of a cut: against a plain sum, a simulation, and the degenerate."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta as beta_law  # type: ignore[import-untyped]
from scipy.stats import binom

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.decision_consistency import (
    DecisionConsistency,
    hanson_brennan,
    livingston_lewis,
)
from scoring.measurement.decision_figures import decision_figures
from scoring.measurement.subkoviak import Subkoviak, subkoviak
from scoring.measurement.true_score_beta import TrueScoreBeta


def decided(found: object) -> DecisionConsistency:
    assert isinstance(found, DecisionConsistency), found
    return found


def value(found: object) -> float:
    assert isinstance(found, Estimate), found
    return found.value


@pytest.mark.parametrize(
    ("shape", "length", "cut", "k"),
    [
        ((0.0, 1.0, 5.0, 3.0), 20, 0.6, 0.0),
        ((0.0, 1.0, 0.7, 0.6), 10, 0.5, 0.0),
        ((0.2, 0.9, 60.0, 40.0), 1000, 0.62, 0.0),
        ((0.25, 0.75, 5.0, 3.0), 50, 0.5, 2.0),
        ((0.5, 0.9, 2.0, 2.0), 30, 0.3, 0.0),
    ],
)
def test_figures_are_those_of_a_plain_sum(
    shape: tuple[float, float, float, float], length: int, cut: float, k: float
) -> None:
    lower, upper, alpha, beta = shape
    needed = int(np.ceil(length * cut - 1e-9))

    edge = float(beta_law.cdf((cut - lower) / (upper - lower), alpha, beta))
    sums = []
    for start, end in ((0.0, edge), (edge, 1.0)):
        # Midpoints of twenty thousand equal parts of the persons.
        rank = start + (end - start) * (np.arange(20_000) + 0.5) / 20_000
        true = lower + (upper - lower) * beta_law.ppf(rank, alpha, beta)
        passes = binom.sf(needed - 1, length, true)
        if k:
            change = sum(
                binom.pmf(x, length - 2, true)
                - 2 * binom.pmf(x - 1, length - 2, true)
                + binom.pmf(x - 2, length - 2, true)
                for x in range(needed, length + 1)
            )
            passes = passes - k * true * (1 - true) * change
        sums.append(((end - start) * passes.mean(), (end - start) * (passes**2).mean()))
    (wrong, wrong_twice), (hit, hit_twice) = sums
    twice = wrong_twice + hit_twice
    found = decision_figures(TrueScoreBeta(*shape), length, cut, lords_k=k)
    assert found.false_pass == pytest.approx(wrong, abs=2e-6)
    assert found.accuracy == pytest.approx(hit + edge - wrong, abs=1e-6)
    assert found.consistency == pytest.approx(1 - 2 * (hit + wrong) + 2 * twice, abs=1e-6)


@given(st.floats(0.5, 20), st.floats(0.5, 20), st.integers(1, 80), st.floats(0.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_shares_are_shares(alpha: float, beta: float, length: int, cut: float) -> None:
    found = decision_figures(TrueScoreBeta(0, 1, alpha, beta), length, cut)
    assert found.accuracy + found.false_pass + found.false_fail == pytest.approx(1, abs=1e-4)
    assert -1e-9 <= found.false_pass <= 1
    assert 0 <= found.false_fail <= 1
    assert found.chance - 1e-6 <= found.consistency <= 1 + 1e-6


def test_longer_exams_decide_better() -> None:
    truth = TrueScoreBeta(0, 1, 6, 3)
    found = [decision_figures(truth, length, 0.6) for length in (10, 40, 160, 640)]
    assert all(a.accuracy < b.accuracy for a, b in pairwise(found))
    assert all(a.consistency < b.consistency for a, b in pairwise(found))


def test_two_sittings_of_simulated_people_agree_as_foretold() -> None:
    random = np.random.default_rng(1)
    true = random.beta(6, 3, size=(4000, 1))
    one, other = ((random.random((4000, 30)) < true).astype(float) for _ in range(2))
    again = ((one.sum(axis=1) >= 18) == (other.sum(axis=1) >= 18)).mean()
    hits = ((one.sum(axis=1) >= 18) == (true[:, 0] >= 0.6)).mean()
    for found in (
        livingston_lewis(one, 18, samples=200),
        hanson_brennan(one, 18, samples=200),
        hanson_brennan(one.sum(axis=1), 18, items=30, error="binomial", model="2P", samples=0),
    ):
        figures = decided(found)
        assert value(figures.consistency) == pytest.approx(again, abs=0.02)
        assert value(figures.accuracy) == pytest.approx(hits, abs=0.02)
        assert value(figures.passing) == pytest.approx(figures.observed_passing, abs=0.03)
        assert abs(figures.length - 30) <= 2
        assert figures.n == 4000
    person = subkoviak(one, 18, reliability=decided(livingston_lewis(one, 18)).reliability)
    assert isinstance(person, Subkoviak)
    assert value(person.consistency) == pytest.approx(again, abs=0.03)


def test_the_same_seed_gives_the_same_interval_in_any_order() -> None:
    random = np.random.default_rng(2)
    table = (random.random((80, 20)) < random.beta(6, 3, size=(80, 1))).astype(float)
    one = decided(livingston_lewis(table, 12, samples=100, seed=3))
    assert one == livingston_lewis(table, 12, samples=100, seed=3)
    other = decided(livingston_lewis(table[::-1], 12, samples=0))
    assert value(other.accuracy) == pytest.approx(value(one.accuracy))
    assert isinstance(one.kappa, Estimate)
    assert one.kappa.low is not None
    assert one.kappa.high is not None
    assert one.kappa.low <= one.kappa.value <= one.kappa.high
    assert isinstance(other.kappa, Estimate)
    assert other.kappa.low is None


def test_moments_that_allow_no_four_parameters_fall_back_to_two() -> None:
    scores = np.repeat([2, 10, 11, 18], [10, 15, 15, 10])
    found = decided(livingston_lewis(scores, 10, reliability=0.8, maximum=20, samples=0))
    assert found.model == "2P"
    assert (found.true_score.lower, found.true_score.upper) == (0, 1)


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        (np.ones((40, 5)), "spread"),
        (np.zeros((40, 5)), "spread"),
        (np.ones((3, 5)), "persons"),
        (np.empty((0, 5)), "persons"),
        (np.tile([[1.0], [0.0]], (20, 1)), "reliability"),
        (np.repeat([[1.0, 0], [0, 1], [1, 1], [0, 0]], [15, 15, 5, 5], axis=0), "reliability"),
    ],
)
def test_degenerate_exams_say_what_is_missing(table: np.ndarray, missing: str) -> None:
    found = livingston_lewis(table, 1, samples=20)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing
    assert found.said.endswith(".")


def test_a_cut_that_everybody_passes_has_no_kappa() -> None:
    random = np.random.default_rng(3)
    table = (random.random((60, 10)) < random.beta(6, 3, size=(60, 1))).astype(float)
    found = decided(livingston_lewis(table, 0, samples=20))
    assert isinstance(found.kappa, TooLittleEvidence)
    assert value(found.accuracy) == pytest.approx(1)
    assert isinstance(subkoviak(table, 0, reliability=0.5), Subkoviak)


def test_faults_are_named() -> None:
    scores = list(range(40))
    with pytest.raises(ValueError, match="reliability"):
        livingston_lewis(scores, 10, maximum=50)
    with pytest.raises(ValueError, match="maximum"):
        livingston_lewis(scores, 10, reliability=0.8)
    with pytest.raises(DataError, match="cut"):
        livingston_lewis(scores, 60, reliability=0.8, maximum=50)
    with pytest.raises(DataError, match="score"):
        livingston_lewis(scores, 10, reliability=0.8, maximum=30)
    with pytest.raises(DataError, match="reliability"):
        livingston_lewis(scores, 10, reliability=1.0, maximum=50)
    with pytest.raises(DataError):
        hanson_brennan([1.5] * 40, 10, items=20, reliability=0.5)
    with pytest.raises(DataError):
        decision_figures(TrueScoreBeta(0, 1, 2, 2), 0, 0.5)
