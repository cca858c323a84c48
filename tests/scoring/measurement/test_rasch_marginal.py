"""The marginal likelihood against an integral over each person, and its derivatives."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from scoring.measurement.ability_grid import ability_grid
from scoring.measurement.rasch_marginal import RaschMarginal
from scoring.measurement.right_wrong import Answers, answers


def case(persons: int, seed: int) -> tuple[Answers, np.ndarray, np.ndarray]:
    """Answers of three populations with gaps, and a point far from the maximum."""
    rng = np.random.default_rng(seed)
    table = (rng.random((persons, 6)) < 0.6).astype(float)
    table[rng.random(table.shape) < 0.2] = np.nan
    point = np.concatenate([rng.normal(size=6), [0.7, 1.2, 0.9], [0.3, -0.5]])
    return answers(table), np.arange(persons) % 3, point


def test_is_the_integral_over_each_persons_ability() -> None:
    read, group, at = case(12, 1)
    model = RaschMarginal(read, group, *ability_grid(6, 1.5))
    means = [0.0, *at[9:]]
    wanted = 0.0
    for right, given, one in zip(read.right, read.given, group, strict=True):

        def chance(z: float, right=right, given=given, one=one) -> float:  # type: ignore[no-untyped-def]
            logit = at[:6] + means[one] + at[6 + one] * z
            return float(np.exp((right * logit - given * np.logaddexp(0, logit)).sum()))

        wanted += np.log(quad(lambda z, chance=chance: chance(z) * norm.pdf(z), -10, 10)[0])
    assert model.evaluate(at)[0] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("persons", [40, 400])
def test_gradient_and_hessian_are_the_slopes(persons: int) -> None:
    read, group, at = case(persons, 2)
    model = RaschMarginal(read, group, *ability_grid(6, 1.5))
    _, slope, hessian = model.evaluate(at)
    step = 1e-5
    for k, move in enumerate(step * np.eye(len(at))):
        up, down = model.evaluate(at + move), model.evaluate(at - move)
        assert slope[k] == pytest.approx((up[0] - down[0]) / (2 * step), abs=1e-5)
        assert hessian[k] == pytest.approx((up[1] - down[1]) / (2 * step), abs=1e-5)


def test_the_rough_hessian_is_near_and_the_two_ways_to_sum_agree() -> None:
    rng = np.random.default_rng(3)
    table = (rng.random((300, 40)) < 0.6).astype(float)
    table[rng.random(table.shape) < 0.3] = np.nan
    read = answers(table)
    nodes, log_weights = ability_grid(40, 1.5)
    model = RaschMarginal(read, np.zeros(300, dtype=np.int64), nodes, log_weights)
    at = model.start()
    value, slope, exact = model.evaluate(at)
    rough = model.roughly(at)
    assert rough[0] == value
    assert np.array_equal(rough[1], slope)
    assert rough[2] == pytest.approx(exact, abs=0.02 * float(np.abs(exact).max()))
    assert not np.array_equal(rough[2], exact)
    # Many forms are summed node by node, few form by form: split into few and add.
    parts = np.zeros_like(exact)
    for rows in np.array_split(np.arange(300), 10):
        few = RaschMarginal(
            read.part(rows=rows), np.zeros(len(rows), dtype=np.int64), nodes, log_weights
        )
        parts += few.evaluate(at)[2]
    assert parts == pytest.approx(exact, abs=1e-8)
