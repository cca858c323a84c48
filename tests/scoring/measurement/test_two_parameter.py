"""The two-parameter model: its maximum, its errors, and the test for one discrimination."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import TooLittleEvidence
from scoring.measurement.ability_grid import ability_grid
from scoring.measurement.rasch_conditional import LikelihoodRatio
from scoring.measurement.two_parameter import (
    TwoParameterFit,
    _Model,
    one_discrimination,
    two_parameter,
)
from tests.published.case import block
from tests.published.item_response import lsat6, two

PLACE = ("exam_reliability_irt_gtheory", "LSAT6")

SLOPE = np.array([0.8, 1.0, 1.2, 1.5, 1.0, 0.8])
INTERCEPT = np.array([1.0, 0.5, 0.0, -0.5, -1.0, 0.0])


def simulated(rng: np.random.Generator, n: int, slope: np.ndarray = SLOPE) -> np.ndarray:
    logit = INTERCEPT + slope * rng.normal(size=n)[:, None]
    return (rng.random(logit.shape) < 1 / (1 + np.exp(-logit))).astype(float)


def test_the_printed_values_are_a_little_below_the_maximum() -> None:
    held = {row["quantity"]: row["published"] for row in block(*PLACE)["values"]}
    slope = np.array([held[f"2PL a{item}"] for item in range(1, 6)])
    intercept = -slope * np.array([held[f"2PL b{item}"] for item in range(1, 6)])
    read = lsat6()
    model = _Model(read.right, read.given, read.counts, *ability_grid(5, 2.0))
    printed = model.evaluate(np.concatenate([intercept, slope]))[0]
    assert 1e-6 < two().log_likelihood - printed < 1e-4


def test_gradient_and_hessian_are_the_slopes() -> None:
    rng = np.random.default_rng(1)
    table = simulated(rng, 30)
    given = (rng.random(table.shape) < 0.8).astype(float)
    model = _Model(table * given, given, np.ones(30), *ability_grid(6, 1.5))
    at = np.concatenate([INTERCEPT, SLOPE])
    _, slope, hessian = model.evaluate(at)
    for k, move in enumerate(1e-5 * np.eye(12)):
        up, down = model.evaluate(at + move), model.evaluate(at - move)
        assert slope[k] == pytest.approx((up[0] - down[0]) / 2e-5, abs=1e-5)
        assert hessian[k] == pytest.approx((up[1] - down[1]) / 2e-5, abs=1e-5)


def test_truth_is_within_the_errors_in_one_large_sample() -> None:
    fit = two_parameter(simulated(np.random.default_rng(2), 5000))
    assert isinstance(fit, TwoParameterFit)
    assert np.abs((fit.discrimination - SLOPE) / fit.discrimination_error).max() < 3
    assert np.abs((fit.intercept - INTERCEPT) / fit.intercept_error).max() < 3
    assert np.abs((fit.difficulty + INTERCEPT / SLOPE) / fit.difficulty_error).max() < 3


def test_an_item_with_its_key_turned_has_a_negative_discrimination() -> None:
    table = simulated(np.random.default_rng(3), 1500)
    table[:, 2] = 1 - table[:, 2]
    fit = two_parameter(table)
    assert isinstance(fit, TwoParameterFit)
    assert (fit.discrimination < 0).tolist() == [False, False, True, False, False, False]


def test_one_discrimination_keeps_its_level_and_is_refused_where_it_should_be() -> None:
    rng = np.random.default_rng(4)
    small = []
    for _ in range(100):
        found = one_discrimination(simulated(rng, 400, np.ones(6)))
        assert isinstance(found, LikelihoodRatio)
        small.append(found.p_value < 0.05)
    assert np.mean(small) <= 0.12
    found = one_discrimination(simulated(rng, 1500, np.array([0.3, 0.3, 0.5, 2.0, 2.0, 2.5])))
    assert isinstance(found, LikelihoodRatio)
    assert found.p_value < 1e-6
    assert found.degrees_of_freedom == 5


@pytest.mark.parametrize(
    "table",
    [
        np.ones((40, 4)),
        np.empty((0, 4)),
        [[1, 0], [0, 1], [1, 1], [0, 0], [1, 1]] * 10,
        [[1, 1, 1], [0, 0, 0]] * 20,
    ],
)
def test_too_little_is_told(table: object) -> None:
    assert isinstance(two_parameter(table), TooLittleEvidence)  # type: ignore[arg-type]
    assert isinstance(one_discrimination(table), TooLittleEvidence)  # type: ignore[arg-type]
