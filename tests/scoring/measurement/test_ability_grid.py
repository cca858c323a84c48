"""The rule of quadrature integrates a normal population."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from scoring.measurement.ability_grid import ability_grid


@pytest.mark.parametrize(("items", "spread"), [(1, 0.5), (20, 1.0), (400, 2.0)])
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_a_persons_likelihood_is_integrated_exactly(
    items: int, spread: float, share: float
) -> None:
    right = round(share * items)

    def likelihood(z: float) -> float:
        log = right * spread * z - items * np.logaddexp(0.0, spread * z)
        return float(np.exp(log + items * np.log(2.0)))

    nodes, log_weights = ability_grid(items, spread)
    found = np.exp(log_weights) @ [likelihood(z) for z in nodes]
    middle = float(nodes[np.argmax([likelihood(z) * norm.pdf(z) for z in nodes])])
    wanted = quad(
        lambda z: likelihood(z) * norm.pdf(z), -12, 12, points=[middle], epsrel=1e-12, limit=500
    )[0]
    assert found == pytest.approx(wanted, rel=1e-8)


def test_hermite_points_on_demand() -> None:
    nodes, log_weights = ability_grid(5, 1.0, points=21)
    assert len(nodes) == 21
    assert np.exp(log_weights) @ nodes**2 == pytest.approx(1.0)
    assert np.exp(log_weights) @ expit(nodes) == pytest.approx(0.5)
