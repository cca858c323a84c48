"""Logits of given people and scenarios: against dense matrices, and what they cover."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.logit_at import logit_at


@pytest.mark.parametrize("names", [("operator", "scenario"), ("scenario", "operator")])
def test_conditional_variance_equals_the_dense_inverse(names: tuple[str, str]) -> None:
    rng = np.random.default_rng(5)
    o, s = np.indices((9, 5)).reshape(2, -1)
    eta = 0.5 + rng.normal(0, 1.0, 9)[o] + rng.normal(0, 0.7, 5)[s]
    y = rng.binomial(4, 1 / (1 + np.exp(-eta)))
    labels = {"operator": o, "scenario": s}
    groups: dict[str, Any] = {name: labels[name] for name in names}
    fit = fit_binomial(y, np.full(45, 4), groups=groups)
    assert isinstance(fit, BinomialFit)
    found = logit_at(fit, np.ones((45, 1)), {"scenario": s, "operator": o})

    def modes(theta: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        sds = dict(zip(groups, theta[1:], strict=True))
        z = np.hstack([sds["operator"] * np.eye(9)[o], sds["scenario"] * np.eye(5)[s]])
        u = np.zeros(14)
        for _ in range(60):
            p = 1 / (1 + np.exp(-(theta[0] + z @ u)))
            information = np.eye(14) + (z.T * (4 * p * (1 - p))) @ z
            u -= np.linalg.solve(information, u - z.T @ (y - 4 * p))
        return theta[0] + z @ u, z, np.linalg.inv(information)

    theta = np.array([fit.coefficients[0], *fit.sds.values()])
    means, z, inverse = modes(theta)
    steps = 1e-5 * np.eye(3)
    move = np.column_stack([(modes(theta + h)[0] - modes(theta - h)[0]) / 2e-5 for h in steps])
    variance = np.einsum("ij,jk,ik->i", z, inverse, z)
    variance += np.einsum("ij,jk,ik->i", move, fit.covariance, move)
    assert found.means == pytest.approx(means, abs=1e-6)
    assert found.sds == pytest.approx(np.sqrt(variance), rel=1e-5)


def test_the_middle_of_a_group_left_out_is_the_fixed_part_alone() -> None:
    rng = np.random.default_rng(6)
    o, s = np.indices((12, 4)).reshape(2, -1)
    y = rng.binomial(6, 1 / (1 + np.exp(-rng.normal(0, 1.0, 12)[o])))
    groups: dict[str, Any] = {"operator": o, "scenario": s}
    fit = fit_binomial(y, np.full(48, 6), groups=groups)
    assert isinstance(fit, BinomialFit)
    found = logit_at(fit, np.ones((1, 1)), {})
    assert found.means[0] == pytest.approx(fit.coefficients[0])
    assert found.sds[0] == pytest.approx(fit.standard_errors[0])
