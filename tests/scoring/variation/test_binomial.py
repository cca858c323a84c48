"""The binomial mixed model: against dense sums, other programs, and what must not matter."""

from __future__ import annotations

from typing import Any

import mixedlm
import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_cells import gather
from scoring.variation.laplace import Cells, CrossedLaplace
from scoring.variation.quadrature import SingleQuadrature

Array = npt.NDArray[np.float64]


def drawn(
    seed: int, operators: int = 24, scenarios: int = 7, trials: int = 4, spread: float = 0.8
) -> tuple[Array, Array, dict[str, Array]]:
    rng = np.random.default_rng(seed)
    o, s = np.indices((operators, scenarios)).reshape(2, -1)
    eta = 1.0 + rng.normal(0, spread, operators)[o] + rng.normal(0, 0.6, scenarios)[s]
    y = rng.binomial(trials, 1 / (1 + np.exp(-eta))).astype(float)
    return y, np.full(len(y), float(trials)), {"operator": o, "scenario": s}


def fitted(*arguments: Any, **keywords: Any) -> BinomialFit:
    fit = fit_binomial(*arguments, **keywords)
    assert isinstance(fit, BinomialFit), fit
    return fit


def three_factors(seed: int) -> Cells:
    """Crossed, unbalanced, with some cells missing and the largest factor not the first."""
    rng = np.random.default_rng(seed)
    sizes = (4, 15, 6)
    index = tuple(rng.integers(0, size, 120) for size in sizes)
    trials = rng.integers(1, 7, 120).astype(float)
    design = np.column_stack([np.ones(120), rng.normal(size=120)])
    return Cells(rng.binomial(trials.astype(int), 0.7).astype(float), trials, design, index, sizes)


def dense(cells: Cells, theta: Array) -> float:
    """Minus the Laplace log-likelihood with full matrices, slowly."""
    b, sds = theta[: cells.design.shape[1]], theta[cells.design.shape[1] :]
    z = np.column_stack(
        [
            sd * np.eye(size)[index]
            for sd, size, index in zip(sds, cells.sizes, cells.index, strict=True)
        ]
    )
    u = np.zeros(z.shape[1])
    for _ in range(100):
        p = 1 / (1 + np.exp(-(cells.design @ b + z @ u)))
        information = np.eye(len(u)) + (z.T * (cells.trials * p * (1 - p))) @ z
        u -= np.linalg.solve(information, u - z.T @ (cells.successes - cells.trials * p))
    eta = cells.design @ b + z @ u
    fit = cells.successes @ eta - cells.trials @ np.log1p(np.exp(eta))
    return float(-fit + u @ u / 2 + np.linalg.slogdet(information)[1] / 2)


@pytest.mark.parametrize("seed", range(3))
def test_likelihood_equals_the_dense_one_and_its_gradient_the_difference(seed: int) -> None:
    cells = three_factors(seed)
    laplace = CrossedLaplace(cells)
    theta = np.array([0.7, -0.3, 0.4, 0.9, 0.5])
    mode = laplace.mode(theta)
    assert mode.value == pytest.approx(dense(cells, theta), abs=1e-9)
    for k, slope in enumerate(laplace.gradient(mode)):
        step = 1e-5 * np.eye(5)[k]
        expected = (dense(cells, theta + step) - dense(cells, theta - step)) / 2e-5
        assert slope == pytest.approx(expected, abs=1e-5)
    step = 1e-4 * np.array([1.0, -2.0, 1.0, -1.0, 2.0])
    moved = (laplace.mode(theta + step).effects - laplace.mode(theta - step).effects) / 2
    assert laplace.movement(mode) @ step == pytest.approx(moved, abs=1e-8)


def test_conditional_variances_equal_those_of_the_dense_inverse() -> None:
    cells = three_factors(5)
    theta = np.array([0.7, -0.3, 0.4, 0.9, 0.5])
    laplace = CrossedLaplace(cells)
    at = laplace.mode(theta)
    z = np.column_stack(
        [
            sd * np.eye(size)[index]
            for sd, size, index in zip(theta[2:], cells.sizes, cells.index, strict=True)
        ]
    )
    inverse = np.linalg.inv(np.eye(z.shape[1]) + (z.T * at.weight) @ z)
    assert np.concatenate(laplace.variances(at)) == pytest.approx(np.diag(inverse), abs=1e-10)


def test_two_factors_equal_another_program() -> None:
    y, m, groups = drawn(3)
    fit = fitted(y, m, groups=groups)
    data = pd.DataFrame(
        {name: codes.astype(str) for name, codes in groups.items()} | {"p": y / m, "m": m}
    )
    other = mixedlm.glmer(
        "p ~ 1 + (1 | operator) + (1 | scenario)",
        data,
        family=mixedlm.families.Binomial(),
        weights=m,
    )
    sds = {name: float(np.sqrt(g.variance["(Intercept)"])) for name, g in _groups(other).items()}
    assert fit.coefficients[0] == pytest.approx(float(other.fixef()["(Intercept)"]), rel=1e-3)
    assert fit.sds == pytest.approx(sds, rel=1e-3)


def _groups(other: Any) -> dict[str, Any]:
    return dict(other.VarCorr().groups)


def test_quadrature_with_many_nodes_equals_the_integral() -> None:
    rng = np.random.default_rng(4)
    index = np.repeat(np.arange(6), 3)
    cells = Cells(
        rng.integers(0, 4, 18).astype(float), np.full(18, 4.0), np.ones((18, 1)), (index,), (6,)
    )
    theta = np.array([0.3, 0.9])
    u = np.linspace(-9, 9, 4001)
    eta = theta[0] + theta[1] * u
    logs = cells.successes[:, None] * eta - cells.trials[:, None] * np.log1p(np.exp(eta))
    each = np.exp(np.array([logs[index == k].sum(axis=0) for k in range(6)]) - u**2 / 2)
    whole = np.log(each.sum(axis=1) * (u[1] - u[0]) / np.sqrt(2 * np.pi)).sum()
    value, slope, _ = SingleQuadrature(cells, 30).evaluate(theta)
    assert value == pytest.approx(-whole, abs=1e-9)
    assert np.isfinite(slope).all()
    assert SingleQuadrature(cells, 1).value(theta)[0] == pytest.approx(
        CrossedLaplace(cells).mode(theta).value, abs=1e-10
    )


def test_answers_and_counts_are_one_model() -> None:
    y, m, groups = drawn(6, operators=12, scenarios=5)
    counts = fitted(y, m, groups=groups)
    repeats = m.astype(int)
    answers = np.concatenate([np.arange(n) < k for k, n in zip(y, repeats, strict=True)])
    long = {name: np.repeat(codes, repeats) for name, codes in groups.items()}
    single = fitted(answers, groups=long)
    assert single.cells == counts.cells == 60
    assert single.answers == counts.answers == int(m.sum())
    assert single.coefficients == pytest.approx(counts.coefficients, abs=1e-9)
    assert single.sds == pytest.approx(counts.sds, abs=1e-9)
    # The counts' likelihood has the binomial coefficients in it, the answers' has none.
    assert single.log_likelihood < counts.log_likelihood
    constant = gather(y, m, groups, None, True, 3)
    assert not isinstance(constant, TooLittleEvidence)
    assert counts.log_likelihood - single.log_likelihood == pytest.approx(constant.constant)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_neither_row_order_nor_names_matter(seed: int) -> None:
    y, m, groups = drawn(seed % 50, operators=10, scenarios=4)
    y[seed % len(y)] = np.nan
    fit = fit_binomial(y, m, groups=groups)
    order = np.random.default_rng(seed).permutation(len(y))
    names = {k: f"op{(k * 7) % 10}" for k in range(10)}
    other = fit_binomial(
        y[order],
        m[order],
        groups={
            "scenario": groups["scenario"][order],
            "operator": [names[int(k)] for k in groups["operator"][order]],
        },
    )
    if isinstance(fit, TooLittleEvidence) or isinstance(other, TooLittleEvidence):
        assert type(fit) is type(other)
        return
    assert fit.log_likelihood == pytest.approx(other.log_likelihood, abs=1e-6)
    assert fit.coefficients == pytest.approx(other.coefficients, abs=1e-4)
    # A spread near 0 is a flat place of the likelihood, so it is looser there.
    assert fit.sds == pytest.approx(other.sds, abs=5e-3)
    assert fit.answers == int(np.nansum(m[~np.isnan(y)]))


def test_successes_and_failures_are_mirror_images() -> None:
    y, m, groups = drawn(8)
    fit, mirror = fitted(y, m, groups=groups), fitted(m - y, m, groups=groups)
    assert fit.coefficients == pytest.approx(-mirror.coefficients, abs=1e-5)
    assert fit.sds == pytest.approx(mirror.sds, abs=1e-4)
    assert fit.effects["operator"] == pytest.approx(-mirror.effects["operator"], abs=1e-4)


def test_fixed_columns_may_be_numbers_text_or_a_matrix_on_any_scale() -> None:
    y, m, groups = drawn(9)
    months = np.tile(np.arange(24.0), 7)[: len(y)]
    site = np.where(groups["operator"] % 2, "north", "south")
    fit = fitted(y, m, groups=groups, fixed={"months": months, "site": site})
    assert fit.names == ("(Intercept)", "months", "sitesouth")
    scaled = fitted(
        y, m, groups=groups, fixed=np.column_stack([months * 1e4 + 5e6, site == "south"])
    )
    assert scaled.names == ("(Intercept)", "x1", "x2")
    assert scaled.coefficients[1] * 1e4 == pytest.approx(fit.coefficients[1], abs=1e-5)
    assert scaled.standard_errors[2] == pytest.approx(fit.standard_errors[2], rel=1e-3)
    frame = pd.DataFrame({"months": months, "site": site})
    again = fitted(pd.Series(y), pd.Series(m), groups=pd.DataFrame(groups), fixed=frame)
    assert again.coefficients == pytest.approx(fit.coefficients)
    without = fitted(y, m, groups=groups, fixed={"site": site}, intercept=False)
    assert without.names == ("sitenorth", "sitesouth")


def test_operators_who_always_or_never_pass_are_ordinary() -> None:
    y, m, groups = drawn(10)
    y[groups["operator"] == 3] = 0
    y[groups["operator"] == 4] = 4
    fit = fitted(y, m, groups=groups)
    effects = fit.effects["operator"]
    assert effects.argmin() == 3
    assert np.isfinite(effects).all()
    assert effects[4] == effects.max()


def test_an_interaction_is_one_more_group() -> None:
    rng = np.random.default_rng(2)
    y, m, groups = drawn(2, operators=20, scenarios=8, trials=12)
    eta = np.log((y + 0.5) / (m - y + 0.5)) + rng.normal(0, 0.8, len(y))
    y = rng.binomial(12, 1 / (1 + np.exp(-eta))).astype(float)
    pairs = [f"{o}:{s}" for o, s in zip(*groups.values(), strict=True)]
    fit = fitted(y, m, groups={**groups, "pair": pairs})
    assert 0.5 < fit.sds["pair"] < 1.6
    assert fit.log_likelihood > fitted(y, m, groups=groups).log_likelihood


def test_wald_interval_and_criterion() -> None:
    y, m, groups = drawn(3)
    fit = fitted(y, m, groups=groups)
    found = fit.coefficient("(Intercept)")
    assert found.low is not None
    assert found.value - found.low == pytest.approx(1.959964 * fit.standard_errors[0])
    assert fit.aic == pytest.approx(6 - 2 * fit.log_likelihood)
    assert fit.variance("operator") == pytest.approx(fit.sds["operator"] ** 2)


def _y(change: str) -> dict[str, Any]:
    y, m, groups = drawn(1, operators=8, scenarios=4)
    o, s = groups["operator"], groups["scenario"]
    given: dict[str, Any] = {"successes": y, "trials": m, "groups": groups}
    changed: dict[str, dict[str, Any]] = {
        "all pass": {"successes": m},
        "all fail": {"successes": 0 * m},
        "no answers": {"trials": 0 * m, "successes": 0 * m},
        "all missing": {"successes": np.full(len(y), np.nan)},
        "empty": {"successes": [], "trials": [], "groups": {"operator": []}},
        "one operator": {"groups": {"operator": 0 * o, "scenario": s}},
        "one scenario": {"groups": {"operator": o, "scenario": 0 * s}},
        "same group twice": {"groups": {"operator": o, "again": [f"x{k}" for k in o]}},
        "column twice": {"fixed": {"a": o.astype(float), "b": 2.0 * o}},
        "constant column": {"fixed": {"a": np.full(len(y), 3.0)}},
        "separated": {"successes": np.where(s == 0, m, y), "fixed": {"first": s == 0}},
        "perfect operators": {"successes": np.where(o % 2, m, 0), "groups": {"operator": o}},
        "one answer each": {
            "successes": y > 2,
            "trials": None,
            "groups": {"row": np.arange(len(y))},
        },
    }
    return given | changed[change]


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ("all pass", "difference"),
        ("all fail", "difference"),
        ("no answers", "answers"),
        ("all missing", "answers"),
        ("empty", "answers"),
        ("one operator", "operator"),
        ("one scenario", "scenario"),
        ("same group twice", "links"),
        ("column twice", "columns"),
        ("constant column", "columns"),
        ("separated", "separation"),
        ("perfect operators", "within"),
        ("one answer each", "repeats"),
    ],
)
def test_too_little_is_said_and_not_computed(change: str, missing: str) -> None:
    given = _y(change)
    found = fit_binomial(given.pop("successes"), given.pop("trials"), **given)
    assert isinstance(found, TooLittleEvidence), found
    assert found.missing == missing
    assert found.said.endswith(".")


@pytest.mark.parametrize(
    "change",
    [
        {"successes": [1, 2, 9, 1]},
        {"successes": [1, -1, 1, 1]},
        {"successes": [1, 0.5, 1, 1]},
        {"successes": [1, np.inf, 1, 1]},
        {"successes": [1, 1, 1]},
        {"successes": ["a", "b", "c", "d"]},
        {"successes": [[1, 1], [1, 1]]},
        {"trials": [3, 3, 3, 2.5]},
        {"groups": {"operator": ["a", None, "b", "c"]}},
        {"groups": {"operator": ["a", "b"]}},
        {"fixed": {"months": [1.0, np.nan, 2.0, 3.0]}},
        {"fixed": {"months": [1.0]}},
    ],
)
def test_faulty_data_are_refused(change: dict[str, Any]) -> None:
    given: dict[str, Any] = {
        "successes": [1, 2, 3, 0],
        "trials": [3, 3, 3, 3],
        "groups": {"operator": ["a", "b", "c", "d"]},
    } | change
    with pytest.raises(DataError):
        fit_binomial(given.pop("successes"), given.pop("trials"), **given)


def test_wrong_parameters_are_refused() -> None:
    y, m, groups = drawn(1)
    with pytest.raises(ValueError, match="exactly one group"):
        fit_binomial(y, m, groups=groups, quadrature_points=5)
    with pytest.raises(ValueError, match="quadrature_points"):
        fit_binomial(y, m, groups=groups, quadrature_points=0)
    with pytest.raises(ValueError, match="at least one group"):
        fit_binomial(y, m, groups={})
    with pytest.raises(ValueError, match="nothing to estimate"):
        fit_binomial(y, m, groups=groups, intercept=False)
    first, second = np.divmod(np.arange(18_000), 2)
    with pytest.raises(ValueError, match="too many"):
        fit_binomial(first % 2, groups={"a": first, "b": (first + second) % 9000})
