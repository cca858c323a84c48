"""Learning curves: the planted curve is found, the end of learning covered, nothing invented."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.learning import LearningCurve, Reached, gain_of_one, learning_curve
from scoring.variation.saturating import quantiles

FAR, GAP, TAU = 1.5, 1.8, 3.0


def starters(seed: int, gap: float = GAP) -> dict[str, Any]:
    """Ten people from their first month on, and twelve who are long in post."""
    rng = np.random.default_rng(seed)
    o, s, t = np.indices((22, 4, 12)).reshape(3, -1)
    x = np.where(np.arange(22) < 10, 0, 20)[o] + t
    eta = FAR - gap * np.exp(-x / TAU)
    eta = eta + rng.normal(0, 0.6, 22)[o] + rng.normal(0, 0.3, 4)[s]
    return {
        "successes": rng.binomial(2, 1 / (1 + np.exp(-eta))),
        "trials": np.full(len(o), 2),
        "practice": x.astype(float),
        "operators": [f"OP-{k:03}" for k in o],
        "scenarios": [f"s{k}" for k in s],
    }


def told(**arguments: Any) -> LearningCurve:
    found = learning_curve(**arguments)
    assert isinstance(found, LearningCurve), found
    return found


def inside(found: Estimate, truth: float) -> bool:
    assert found.low is not None
    return found.low <= truth <= (np.inf if found.high is None else found.high)


def test_the_planted_curve_is_covered() -> None:
    far = 1 / (1 + np.exp(-FAR))
    target = np.log((far - 0.05) / (1 - far + 0.05))
    until = TAU * np.log(GAP / (FAR - target))
    hits = []
    for seed in range(12):
        found = told(**starters(seed))
        assert found.learning
        assert isinstance(found.until, Estimate)
        hits.append(
            (
                inside(found.until, until),
                inside(found.at_start, 1 / (1 + np.exp(GAP - FAR))),
                inside(found.change, GAP * (1 - np.exp(-found.curve.reach / TAU))),
            )
        )
    assert (np.mean(hits, axis=0) >= 0.75).all()


def test_who_does_not_learn_is_not_told_when_learning_ends() -> None:
    claims = 0
    for seed in range(100, 108):
        found = learning_curve(**starters(seed, gap=0.0))
        if isinstance(found, TooLittleEvidence):
            continue
        claims += found.learning
        if not found.learning:
            assert isinstance(found.until, TooLittleEvidence)
            assert found.until.missing == "learning"
    assert claims <= 2


def test_power_is_one_fit_with_the_logarithm_of_practice() -> None:
    rows = starters(1)
    found = told(**rows, shape="power", level=0.7)
    groups: dict[str, Any] = {"operator": rows["operators"], "scenario": rows["scenarios"]}
    fit = fit_binomial(
        rows["successes"], rows["trials"], groups=groups,
        fixed={"curve": np.log1p(rows["practice"])},
    )  # fmt: skip
    assert isinstance(fit, BinomialFit)
    level, slope = fit.coefficients
    assert found.change.value == pytest.approx(slope * np.log1p(31))
    assert found.change.low == pytest.approx(
        np.log1p(31) * (slope - 1.96 * fit.standard_errors[1]), abs=0.08
    )
    assert isinstance(found.until, Estimate)
    assert found.until.value == pytest.approx(
        np.expm1((np.log(0.7 / 0.3) - level) / slope), rel=1e-6
    )
    assert gain_of_one(found, 3.0) == pytest.approx((5 / 4) ** slope)
    with pytest.raises(ValueError, match="give level"):
        learning_curve(**rows, shape="power")


def test_people_are_told_from_their_own_answers() -> None:
    rows = starters(2)
    kept = [k for k, code in enumerate(rows["operators"]) if code != "OP-021"]
    kept += [k for k, code in enumerate(rows["operators"]) if code == "OP-021"][:2]
    thin: dict[str, Any] = {name: [values[k] for k in kept] for name, values in rows.items()}
    found = told(**thin)
    assert [one.operator for one in found.operators] == sorted(set(rows["operators"]))
    last = found.operators[-1]
    assert (last.rate.n, last.verdict) == (4, Reached.TOO_LITTLE)
    for one in found.operators:
        if one.verdict is Reached.YES:
            assert one.rate.low is not None
            assert one.rate.low > found.level
        if one.verdict is Reached.NO:
            assert one.rate.high is not None
            assert one.rate.high < found.level
    assert {one.verdict for one in found.operators} > {Reached.TOO_LITTLE}
    rates = [one.value for one in found.rate([0.0, 1.0, 5.0, 30.0])]
    assert rates == sorted(rates)
    assert gain_of_one(found) > gain_of_one(found, 5.0) > 1.0


def test_a_level_met_at_once_or_never() -> None:
    rows = starters(3)
    at_once = told(**rows, level=0.05).until
    assert isinstance(at_once, Estimate)
    assert at_once.value == 0.0
    never = told(**rows, level=0.99).until
    assert isinstance(never, TooLittleEvidence)
    assert never.missing == "reach"


def test_columns_of_a_frame_are_read_by_place_whatever_their_index() -> None:
    rows = starters(2)
    labels = np.arange(len(rows["operators"]))[::-1]
    framed = rows | {"operators": pd.Series(rows["operators"], index=labels)}
    assert told(**framed).operators == told(**rows).operators


def test_order_of_rows_changes_nothing() -> None:
    rows = starters(4)
    order = np.random.default_rng(0).permutation(len(rows["trials"]))
    mixed: dict[str, Any] = {name: np.asarray(values)[order] for name, values in rows.items()}
    first, second = told(**rows), told(**mixed)
    assert second.change.value == pytest.approx(first.change.value, abs=1e-5)
    assert isinstance(first.until, Estimate)
    assert isinstance(second.until, Estimate)
    assert second.until.value == pytest.approx(first.until.value, abs=1e-4)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"practice": np.zeros(1056)}, "practice"),
        ({"practice": np.full(1056, np.nan)}, "practice"),
        ({"operators": ["OP-1"] * 1056}, "operator"),
        ({"successes": np.full(1056, 2)}, "difference"),
        ({"successes": np.zeros(1056)}, "difference"),
    ],
)
def test_too_little_is_said(change: dict[str, Any], missing: str) -> None:
    found = learning_curve(**(starters(5) | change))
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


@pytest.mark.parametrize(
    ("change", "item"),
    [
        ({"practice": np.full(1056, -1.0)}, "practice, row 1"),
        ({"practice": np.full(1056, np.inf)}, "practice, row 1"),
        ({"practice": [1.0]}, "practice"),
        ({"practice": ["long"] * 1056}, "practice"),
        ({"operators": ["OP-1"]}, "operator"),
    ],
)
def test_faults_in_the_data_are_named(change: dict[str, Any], item: str) -> None:
    with pytest.raises(DataError) as caught:
        learning_curve(**(starters(6) | change))
    assert caught.value.item == item


@pytest.mark.parametrize("change", [{"level": 1.0}, {"near": 0.0}, {"confidence": 1.0}])
def test_parameters_outside_their_range(change: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="wanted"):
        learning_curve(**starters(7), **change)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-5, 5), min_size=1, max_size=30), st.integers(0, 1000))
def test_weighted_quantiles_of_equal_weights_are_those_of_the_sorted(
    values: list[float], seed: int
) -> None:
    weights = np.random.default_rng(seed).uniform(0.1, 1.0, len(values))
    low, middle, high = quantiles(np.array(values), weights, 0.8)
    assert low <= middle <= high
    for found, part in ((low, 0.1), (middle, 0.5), (high, 0.9)):
        share = weights[np.array(values) <= found].sum() / weights.sum()
        below = weights[np.array(values) < found].sum() / weights.sum()
        assert below <= part + 1e-9
        assert share >= part - 1e-9
