"""Rasch by marginal likelihood: published values, another program, known truths, poor data."""

from __future__ import annotations

import girth
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.rasch import RaschFit, rasch

DIFFICULTY = np.array([-1.5, -0.5, 0.0, 0.5, 1.5])


def simulated(
    rng: np.random.Generator, ability: np.ndarray, difficulty: np.ndarray = DIFFICULTY
) -> np.ndarray:
    chance = 1 / (1 + np.exp(difficulty - ability[:, None]))
    return (rng.random(chance.shape) < chance).astype(float)


def fitted(*args: object, **more: object) -> RaschFit:
    found = rasch(*args, **more)  # type: ignore[arg-type]
    assert isinstance(found, RaschFit)
    return found


def test_agrees_with_another_program() -> None:
    rng = np.random.default_rng(1)
    table = simulated(rng, rng.normal(size=400))
    fit = fitted(table)
    # The other program holds the spread of ability at 1 and the discrimination at what it is told.
    other = girth.rasch_mml(
        table.T.astype(int), discrimination=fit.discrimination, options={"quadrature_n": 101}
    )["Difficulty"]
    assert fit.standardised_difficulty == pytest.approx(other, abs=2e-3)


def test_intervals_cover_the_truth() -> None:
    rng = np.random.default_rng(2)
    inside, spread = [], []
    for _ in range(1000):
        fit = fitted(simulated(rng, rng.normal(size=200)))
        inside.append(np.abs(fit.difficulty - DIFFICULTY) < 1.96 * fit.standard_error)
        spread.append(abs(fit.spread - 1.0) < 1.96 * fit.spread_error)
    assert 0.93 <= np.mean(inside) <= 0.97
    assert 0.93 <= np.mean(spread) <= 0.97


def test_forms_with_common_items_and_unequal_populations_are_put_on_one_scale() -> None:
    rng = np.random.default_rng(3)
    difficulty = np.linspace(-2, 2, 12)
    table = np.vstack(
        [
            simulated(rng, rng.normal(size=3000), difficulty),
            simulated(rng, 1.0 + 1.4 * rng.normal(size=3000), difficulty),
        ]
    )
    table[:3000, 8:] = np.nan
    table[3000:, :4] = np.nan
    groups = ["first"] * 3000 + ["second"] * 3000
    fit = fitted(table, groups=groups)
    assert np.abs((fit.difficulty - difficulty) / fit.standard_error).max() < 3.5
    mean, sd = fit.populations["second"]
    assert mean.low is not None
    assert mean.high is not None
    assert mean.low < 1.0 < mean.high
    assert sd.value == pytest.approx(1.4, abs=0.15)
    # One population for both would take the difference in ability for a difference in items.
    one = fitted(table)
    assert one.log_likelihood < fit.log_likelihood - 50
    turned = fitted(table, groups=groups, reference="second")
    assert turned.log_likelihood == pytest.approx(fit.log_likelihood)
    assert turned.difficulty == pytest.approx(fit.difficulty - mean.value, abs=1e-5)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_order_and_counts_do_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    table = simulated(rng, 1.5 * rng.normal(size=60))
    table[rng.random(table.shape) < 0.15] = np.nan
    fit = rasch(table, items=list("abcde"))
    row, column = rng.permutation(60), rng.permutation(5)
    other = rasch(table[row][:, column], items=np.array(list("abcde"))[column].tolist())
    twice = rasch(table, counts=np.full(60, 2))
    stacked = rasch(np.vstack([table, table]))
    if isinstance(fit, TooLittleEvidence):
        assert isinstance(other, TooLittleEvidence)
        return
    assert isinstance(other, RaschFit)
    assert isinstance(twice, RaschFit)
    assert isinstance(stacked, RaschFit)
    for name in "abcde":
        one, another = fit.of(name), other.of(name)
        assert isinstance(one, Estimate)
        assert isinstance(another, Estimate)
        assert one.value == pytest.approx(another.value, abs=1e-5)
    assert twice.difficulty == pytest.approx(stacked.difficulty, abs=1e-6)
    assert twice.standard_error == pytest.approx(fit.standard_error / np.sqrt(2), rel=1e-3)
    assert (fit.standard_error > 0).all()


def test_items_all_right_or_wrong_are_dropped_with_a_reason() -> None:
    rng = np.random.default_rng(4)
    table = simulated(rng, rng.normal(size=100))
    table = np.hstack([np.ones((100, 1)), table, np.zeros((100, 1)), np.full((100, 1), np.nan)])
    fit = fitted(table)
    assert fit.items == (2, 3, 4, 5, 6)
    assert set(fit.dropped) == {1, 7, 8}
    assert isinstance(fit.of(1), TooLittleEvidence)
    alone = fitted(table[:, 1:6])
    assert fit.difficulty == pytest.approx(alone.difficulty)
    with pytest.raises(DataError):
        fit.of("none")


@pytest.mark.parametrize(
    ("table", "missing"),
    [
        (np.ones((50, 4)), "items"),
        (np.zeros((50, 4)), "items"),
        (np.full((50, 4), np.nan), "items"),
        (np.empty((0, 3)), "items"),
        (np.empty((3, 0)), "items"),
        ([[1, 0, 1]], "items"),
        ([[1], [0]] * 20, "items"),
        ([[1, 0], [0, 1]], "persons"),
        ([[1, None], [0, None], [None, 1], [None, 0]] * 10, "answers"),
        ([[1, 0], [0, 1]] * 30, "spread"),
    ],
)
def test_too_little_is_told(table: object, missing: str) -> None:
    found = rasch(table)  # type: ignore[arg-type]
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing
    assert found.said.endswith(".")


def test_forms_that_share_nothing_need_an_assumption_by_name() -> None:
    rng = np.random.default_rng(5)
    table = simulated(rng, rng.normal(size=400), np.linspace(-1, 1, 8))
    table[:200, 4:] = np.nan
    table[200:, :4] = np.nan
    found = rasch(table)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == "common items"
    assert fitted(table, randomly_equivalent=True).items == tuple(range(1, 9))
    still = rasch(table, groups=["a"] * 200 + ["b"] * 200, randomly_equivalent=True)
    assert isinstance(still, TooLittleEvidence)


def test_answers_that_all_go_together_do_not_run_away() -> None:
    # Everybody has all right or all wrong: ability decides everything, its spread has no limit.
    found = rasch([[1, 1, 1, 1]] * 30 + [[0, 0, 0, 0]] * 30)
    assert isinstance(found, TooLittleEvidence)


def test_refuses_groups_that_do_not_fit() -> None:
    with pytest.raises(DataError, match="groups"):
        rasch([[1, 0]] * 20, groups=["a"])
    rng = np.random.default_rng(6)
    with pytest.raises(DataError, match="reference"):
        rasch(simulated(rng, rng.normal(size=50)), groups=["a"] * 50, reference="b")
    with pytest.raises(ValueError, match="confidence"):
        rasch([[1, 0]], confidence=1.0)
