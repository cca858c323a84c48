"""Fit against a slow loop; what the model cannot produce is seen, what it can is not flagged."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_conditional import ConditionalFit, rasch_conditional
from scoring.measurement.rasch_fit import (
    Fit,
    item_fit,
    local_dependence,
    observed_and_expected,
    person_fit,
    residuals,
)
from scoring.measurement.rasch_persons import person_measures

DIFFICULTY = np.linspace(-1.5, 1.5, 12)


def simulated(rng: np.random.Generator, n: int = 400) -> np.ndarray:
    chance = 1 / (1 + np.exp(DIFFICULTY - rng.normal(size=n)[:, None]))
    return (rng.random(chance.shape) < chance).astype(float)


def fitted(table: np.ndarray) -> RaschFit:
    found = rasch(table)
    assert isinstance(found, RaschFit)
    return found


def test_mean_squares_are_those_of_a_slow_loop() -> None:
    table = simulated(np.random.default_rng(1), 60)
    table[:20, 3] = np.nan
    fit = fitted(table)
    ability = person_measures(table, fit).ability
    for column, item in enumerate(fit.items):
        misses, expected, standard, kurtosis, extra = 0.0, 0.0, [], [], []
        for row in range(60):
            answer = table[row, column]
            score, met = np.nansum(table[row]), np.sum(~np.isnan(table[row]))
            if np.isnan(answer) or score in (0, met):
                continue
            p = 1 / (1 + np.exp(fit.difficulty[column] - ability[row]))
            variance = p * (1 - p)
            fourth = p * (1 - p) ** 4 + (1 - p) * p**4
            misses += (answer - p) ** 2
            expected += variance
            standard.append((answer - p) ** 2 / variance)
            kurtosis.append(fourth / variance**2)
            extra.append(fourth - variance**2)
        found = item_fit(fit)[item]
        assert isinstance(found, Fit)
        assert found.n == len(standard)
        assert found.infit == pytest.approx(misses / expected)
        assert found.outfit == pytest.approx(np.mean(standard))
        q = np.sqrt(np.sum(kurtosis) / len(standard) ** 2 - 1 / len(standard))
        assert found.outfit_z == pytest.approx((np.cbrt(found.outfit) - 1) * 3 / q + q / 3)
        q = np.sqrt(np.sum(extra)) / expected
        assert found.infit_z == pytest.approx((np.cbrt(found.infit) - 1) * 3 / q + q / 3)


def test_true_measures_give_mean_squares_of_one_and_normal_deviates() -> None:
    rng = np.random.default_rng(2)
    squares, deviates = [], []
    for _ in range(60):
        ability = rng.normal(size=300)
        chance = 1 / (1 + np.exp(DIFFICULTY - ability[:, None]))
        fit = fitted((rng.random(chance.shape) < chance).astype(float))
        for one in item_fit(residuals(fit, ability - ability.mean())).values():
            assert isinstance(one, Fit)
            squares.append((one.infit, one.outfit))
            deviates.append((one.infit_z, one.outfit_z))
    assert np.mean(squares, axis=0) == pytest.approx([1.0, 1.0], abs=0.02)
    flagged = np.mean(np.abs(deviates) > 1.96, axis=0)
    assert (flagged < 0.07).all()


def test_a_turned_key_and_a_guesser_stand_out() -> None:
    rng = np.random.default_rng(3)
    table = simulated(rng)
    table[:, 4] = 1 - table[:, 4]
    table[0] = [0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1]
    fit = fitted(table)
    items = {name: one for name, one in item_fit(fit).items() if isinstance(one, Fit)}
    assert max(items, key=lambda name: items[name].infit) == 5
    assert items[5].infit_z > 4
    assert items[5].outfit > 1.2
    guesser = person_fit(fit)[0]
    assert isinstance(guesser, Fit)
    assert guesser.outfit_z > 2.5
    # The observed curve of the turned item falls where the expected one rises.
    curve = observed_and_expected(fit, 5)
    assert not isinstance(curve, TooLittleEvidence)
    assert curve[-1].observed < curve[-1].low


def test_groups_of_ability_hold_everybody_and_follow_the_model() -> None:
    fit = fitted(simulated(np.random.default_rng(4), 500))
    inside = total = 0
    for item in fit.items:
        curve = observed_and_expected(fit, item, groups=4)
        assert not isinstance(curve, TooLittleEvidence)
        assert len(curve) == 4
        assert sorted(one.ability for one in curve) == [one.ability for one in curve]
        answers_, at = fit.answers, residuals(fit).ability
        assert sum(one.n for one in curve) == int((~np.isnan(at)).sum())
        right = sum(one.observed * one.n for one in curve)
        column = fit.items.index(item)
        assert right == pytest.approx(answers_.right[~np.isnan(at), column].sum())
        inside += sum(one.low <= one.observed <= one.high for one in curve)
        total += 4
    assert inside / total > 0.9


def test_two_items_that_copy_each_other_are_found() -> None:
    rng = np.random.default_rng(5)
    table = simulated(rng, 600)
    copied = rng.random(600) < 0.6
    table[copied, 7] = table[copied, 6]
    fit = fitted(table)
    pairs = local_dependence(fit)
    assert not isinstance(pairs, TooLittleEvidence)
    assert (pairs[0].first, pairs[0].second) == (7, 8)
    assert pairs[0].above > 0.3
    assert len(pairs) == 66
    assert np.mean([pair.above for pair in pairs]) == pytest.approx(0.0, abs=1e-12)
    miss = residuals(fit).residual
    kept = ~np.isnan(miss).any(axis=1)
    assert pairs[0].q3 == pytest.approx(np.corrcoef(miss[kept, 6], miss[kept, 7])[0, 1])
    within = local_dependence(fit, within=["a"] * 6 + ["b"] * 6)
    assert not isinstance(within, TooLittleEvidence)
    assert len(within) == 30
    assert within[0] == pairs[0]
    with pytest.raises(DataError):
        local_dependence(fit, within=["a"])
    with pytest.raises(DataError):
        local_dependence(fit, within={1: "a"})


def test_counts_stand_for_rows_and_conditional_fits_work_too() -> None:
    table = simulated(np.random.default_rng(6), 80)
    once = rasch_conditional(np.vstack([table, table]))
    twice = rasch_conditional(table, counts=np.full(80, 2))
    assert isinstance(once, ConditionalFit)
    assert isinstance(twice, ConditionalFit)
    for item in once.items:
        one, other = item_fit(once)[item], item_fit(twice)[item]
        assert isinstance(one, Fit)
        assert isinstance(other, Fit)
        assert one.infit == pytest.approx(other.infit, abs=1e-6)
        assert one.outfit_z == pytest.approx(other.outfit_z, abs=1e-5)
        assert one.n == other.n
    pairs, others = local_dependence(once), local_dependence(twice)
    assert not isinstance(pairs, TooLittleEvidence)
    assert not isinstance(others, TooLittleEvidence)
    assert pairs[0].q3 == pytest.approx(others[0].q3, abs=1e-5)


def test_too_little_is_told() -> None:
    table = simulated(np.random.default_rng(7), 60)
    table[:, 0] = 1
    table[8:, 1] = np.nan
    table[0, :2] = [1, 0]
    table[1, 1] = 1
    table[5] = 1
    fit = fitted(table)
    found = item_fit(fit)
    assert isinstance(found[1], TooLittleEvidence)
    assert isinstance(found[2], TooLittleEvidence)
    assert isinstance(found[3], Fit)
    assert isinstance(person_fit(fit)[5], TooLittleEvidence)
    assert isinstance(observed_and_expected(fit, 1), TooLittleEvidence)
    assert isinstance(observed_and_expected(fit, 2), TooLittleEvidence)
    few = fitted(simulated(np.random.default_rng(8), 20))
    assert isinstance(local_dependence(few), TooLittleEvidence)
    for bad in ({"item": "none"}, {"item": 3, "groups": 0}):
        with pytest.raises(DataError):
            observed_and_expected(fit, **bad)  # type: ignore[arg-type]
    with pytest.raises(DataError):
        residuals(fit, np.zeros(3))
