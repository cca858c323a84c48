"""Newton's climb, from afar, where it curves the wrong way, and where there is no top."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.measurement.climb import climb


def bell(at: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
    """Curves upward beyond one from the top, where plain Newton runs away."""
    off = at - 3.0
    value = 1.0 / (1.0 + off**2)
    slope = -2.0 * off * value**2
    curve = (6.0 * off**2 - 2.0) * value**3
    return float(value.sum()), slope, np.diag(curve)


def test_finds_the_top_from_where_newton_alone_would_flee() -> None:
    at, value, information, steps = climb(np.array([-1.0, 5.0]), bell)
    assert at == pytest.approx([3.0, 3.0])
    assert value == pytest.approx(2.0)
    assert np.diagonal(information) == pytest.approx([2.0, 2.0])
    assert steps < 100


def test_does_not_swing_between_mirror_points() -> None:
    # The plain step from 1 goes to -1, and back.
    def evaluate(at: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
        return -float((at**4).sum()) / 2, -2.0 * at**3, np.diag(-np.ones_like(at))

    at, *_ = climb(np.array([1.0]), evaluate)
    assert abs(at[0]) < 0.02


def test_a_slope_without_a_top_is_told() -> None:
    with pytest.raises(ArithmeticError, match="no maximum"):
        climb(np.zeros(1), lambda at: (float(at[0]), np.ones(1), np.zeros((1, 1)) - 1e-3))
