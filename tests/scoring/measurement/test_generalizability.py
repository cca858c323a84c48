"""Variance components of crossed and nested designs."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.d_study import d_study
from scoring.measurement.g_cells import ScoreCells, long_form, score_cells
from scoring.measurement.g_design import read_design
from scoring.measurement.g_intervals import plausible_balanced, plausible_simulated
from scoring.measurement.g_moments import henderson_weights, mean_squares, uncorrected
from scoring.measurement.generalizability import GStudy, g_study

SIZES = {"p": 4, "i": 3, "r": 2, "o": 2}
DESIGNS = ["p x i", "i:p", "p x i x r", "p x (r:i)", "(r:p) x i", "r:(p x i)", "p x (r:i:o)"]


def full(design: str, seed: int = 1) -> tuple[np.ndarray, dict[str, list[int]]]:
    facets = read_design(design).facets
    cells = list(product(*(range(SIZES[facet]) for facet in facets)))
    scores = np.random.default_rng(seed).normal(size=len(cells))
    return scores, {facet: [cell[k] for cell in cells] for k, facet in enumerate(facets)}


def studied(*given_: Any, **named: Any) -> GStudy:
    found = g_study(*given_, **named)
    assert isinstance(found, GStudy), found
    return found


def cells_of(scores: Any, facets: Any, design: str) -> ScoreCells:
    found = score_cells(scores, facets, read_design(design))
    assert isinstance(found, ScoreCells)
    return found


def raws(study: GStudy) -> list[float]:
    return [held.raw for held in study.components]


@pytest.mark.parametrize("design", DESIGNS)
def test_closed_form_is_the_general_solver_on_full_data(design: str) -> None:
    scores, facets = full(design)
    cells = cells_of(scores, facets, design)
    assert cells.balanced
    solve = henderson_weights(cells)
    assert solve is not None
    general = solve @ uncorrected(cells, cells.scores)
    table = mean_squares(cells)
    np.testing.assert_allclose(table.from_squares @ table.squares, general, atol=1e-10)
    assert table.degrees.sum() == len(scores) - 1
    assert table.sums.sum() == pytest.approx(((scores - scores.mean()) ** 2).sum())


@pytest.mark.parametrize("design", [*DESIGNS, "(p:o) x i"])
def test_expected_squares_by_brute_force_with_cells_missing(design: str) -> None:
    """Quadratic forms of dense matrices: E[y' A y] = tr(A Z Z') for each effect."""
    scores, facets = full(design)
    keep = np.random.default_rng(5).permutation(len(scores))[: int(0.8 * len(scores))]
    cells = cells_of(scores[keep], {f: [v[k] for k in keep] for f, v in facets.items()}, design)
    n = len(keep)
    centre = np.eye(n) - 1 / n
    dense = [np.eye(cells.levels[e])[cells.codes[e]] for e in cells.design.effects]
    forms = [centre @ z @ np.diag(1 / z.sum(axis=0)) @ z.T @ centre for z in dense]
    expected = np.array([[np.trace(form @ z @ z.T) for z in dense] for form in forms])
    by_hand = np.array([cells.scores @ form @ cells.scores for form in forms])
    solve = henderson_weights(cells)
    if np.linalg.matrix_rank(expected, tol=1e-8) < len(forms):
        assert solve is None
        return
    assert solve is not None
    np.testing.assert_allclose(solve @ expected, np.eye(len(forms)), atol=1e-7)
    np.testing.assert_allclose(uncorrected(cells, cells.scores), by_hand, atol=1e-10)


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(DESIGNS),
    st.integers(0, 99),
    st.floats(-50, 50),
    st.floats(0.1, 10),
    st.booleans(),
)
def test_labels_order_and_origin_do_not_matter(
    design: str, seed: int, shift: float, scale: float, missing: bool
) -> None:
    scores, facets = full(design, seed)
    if missing:
        scores[0] = np.nan
    first = g_study(scores, facets, design)
    order = np.random.default_rng(seed).permutation(len(scores))
    names = {f: {v: f"n{97 - v}" for v in set(facets[f])} for f in facets}
    second = g_study(
        scores[order] * scale + shift,
        {f: [names[f][facets[f][k]] for k in order] for f in facets},
        design,
    )
    assert isinstance(first, GStudy)
    assert isinstance(second, GStudy)
    np.testing.assert_allclose(
        np.array(raws(second)), scale**2 * np.array(raws(first)), atol=1e-7 * scale**2
    )
    for held in first.components:
        assert held.estimate.value == max(held.raw, 0.0)
        assert 0 <= held.share <= 1
        if held.estimate.low is not None and held.estimate.high is not None:
            assert 0 <= held.estimate.low <= held.estimate.value <= held.estimate.high
    assert sum(held.share for held in first.components) == pytest.approx(1)
    assert first.balanced != missing


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_coefficient_of_p_x_i_is_alpha(seed: int) -> None:
    draw = np.random.default_rng(seed)
    table = (draw.random((12, 6)) < draw.random((12, 1))).astype(float)
    table[0], table[1] = 0, 1
    found = d_study(studied(*long_form(table), "p x i")).erho2
    alpha = 6 / 5 * (1 - table.var(axis=0, ddof=1).sum() / table.sum(axis=1).var(ddof=1))
    assert not isinstance(found, TooLittleEvidence)
    assert found.value == pytest.approx(max(alpha, 0.0))


def test_levels_of_a_nested_facet_may_be_numbered_anew() -> None:
    scores, facets = full("p x (r:i)")
    anew = {**facets, "r": [f"{i}-{r}" for i, r in zip(facets["i"], facets["r"], strict=True)]}
    assert raws(studied(scores, facets, "p x (r:i)")) == raws(studied(scores, anew, "p x (r:i)"))


def test_negative_estimates_stay_visible() -> None:
    study = studied(*long_form(np.array([[1, 2, 3], [3, 1, 2], [2, 3, 1.5]])), "p x i")
    worst = study.component("p")
    assert worst.negative
    assert worst.raw < 0 == worst.estimate.value
    assert any("variance of p came out below 0" in said for said in study.said)


def test_mixed_components() -> None:
    study = studied(*full("p x i x r", 4), "p x i x r")
    mixed = study.mixed(["r"], raw=True)
    assert mixed["p"] == pytest.approx(study.component("p").raw + study.component("pr").raw / 2)
    assert mixed["pir"] == study.component("pir").raw
    with pytest.raises(DataError):
        study.mixed(["q"])
    with pytest.raises(DataError):
        studied(*full("p x (r:i)"), "p x (r:i)").mixed(["r"])


def test_intervals_of_textbooks_for_one_mean_square_are_the_exact_one() -> None:
    for kind in ("generalised", "satterthwaite", "ting"):
        held = studied(*long_form(np.eye(6)), "p x i", interval=kind).component("pi")
        # 25 squares of 1/5 ... chi-squared with 25 degrees of freedom: 13.120 and 40.646.
        assert held.degrees == 25
        assert held.sum_of_squares is not None
        assert held.estimate.low == pytest.approx(held.sum_of_squares / 40.6465, rel=0.01)
        if kind != "ting":
            assert held.estimate.high == pytest.approx(held.sum_of_squares / 13.1197, rel=0.01)


def test_too_little() -> None:
    def missing(table: Any, design: str = "p x i") -> str:
        found = g_study(*long_form(table), design)
        assert isinstance(found, TooLittleEvidence)
        assert found.said
        return found.missing

    assert missing([[1, 0, 1]]) == "p"
    assert missing([[1], [0]]) == "i"
    assert missing(np.ones((3, 3))) == "variance"
    assert missing(np.full((3, 3), np.nan)) == "scores"
    assert missing(np.where(np.eye(3) == 1, np.array([1.0, 2.0, 4.0]), np.nan)) == "cells"


def test_faults() -> None:
    ok = {"p": [1, 1, 2, 2], "i": [1, 2, 1, 2]}
    with pytest.raises(DataError, match="there already"):
        g_study([1, 2, 3, 4], {**ok, "i": [1, 1, 1, 2]}, "p x i")
    with pytest.raises(DataError, match="finite"):
        g_study([1, 2, np.inf, 4], ok, "p x i")
    with pytest.raises(DataError, match="labels"):
        g_study([1, 2, 3], ok, "p x i")
    with pytest.raises(DataError, match="label"):
        g_study([1, 2, 3, 4], {**ok, "i": [1, None, 1, 2]}, "p x i")
    with pytest.raises(DataError, match="column r"):
        g_study([1, 2, 3, 4], ok, "p x r")
    with pytest.raises(DataError, match="axes"):
        long_form([1, 2, 3])


TRUE = {"p": 1.0, "i": 0.5, "pi": 2.0}


def simulated(design: str, replicates: int, holes: bool) -> dict[str, float]:
    """Return how often intervals cover, of components and of the two coefficients."""
    draw = np.random.default_rng(2)
    true = np.array(list(TRUE.values()))
    cells = cells_of(*long_form(np.zeros((20, 10))), design)
    if holes:
        table = np.zeros((20, 10))
        table[draw.random((20, 10)) < 0.3] = np.nan
        cells = cells_of(*long_form(table), design)
    covered = np.zeros(5)
    for _ in range(replicates):
        scores = np.zeros(len(cells.scores))
        for effect, variance in zip(cells.design.effects, true, strict=True):
            scores += (
                np.sqrt(variance) * draw.normal(size=cells.levels[effect])[cells.codes[effect]]
            )
        one = ScoreCells(cells.design, scores, cells.codes, cells.levels, cells.sizes, not holes)
        if holes:
            solve = henderson_weights(one)
            assert solve is not None
            found = np.maximum(solve @ uncorrected(one, scores), 0)
            plausible = plausible_simulated(one, found, solve, draw)[0]
        else:
            plausible = plausible_balanced(mean_squares(one))[0]
        kept = np.maximum(plausible, 0.0)
        erho2 = kept[:, 0] / (kept[:, 0] + kept[:, 2] / 10)
        phi = kept[:, 0] / (kept[:, 0] + kept[:, 2] / 10 + kept[:, 1] / 10)
        low, high = np.quantile(np.column_stack([kept, erho2, phi]), [0.025, 0.975], axis=0)
        aim = np.array([*true, 1 / 1.2, 1 / 1.25])
        covered += (low <= aim) & (aim <= high)
    return dict(zip([*TRUE, "erho2", "phi"], covered / replicates, strict=True))


@pytest.mark.parametrize("holes", [False, True])
def test_intervals_cover(holes: bool) -> None:
    # Simulated intervals of incomplete data cost more: fewer replicates, wider allowance.
    covered = simulated("p x i", 80 if holes else 1000, holes)
    allowed = (0.88, 1.0) if holes else (0.93, 0.97)
    for name, share in covered.items():
        assert allowed[0] <= share <= allowed[1], (name, share)


def test_estimates_of_incomplete_data_are_unbiased() -> None:
    draw = np.random.default_rng(3)
    table = np.zeros((15, 6))
    table[draw.random(table.shape) < 0.3] = np.nan
    cells = cells_of(*long_form(table), "p x i")
    solve = henderson_weights(cells)
    assert solve is not None
    scores = np.zeros((len(cells.scores), 4000))
    for effect, variance in zip(cells.design.effects, TRUE.values(), strict=True):
        levels = draw.normal(size=(cells.levels[effect], 4000))
        scores += np.sqrt(variance) * levels[cells.codes[effect]]
    found = solve @ uncorrected(cells, scores)
    error = found.std(axis=1) / np.sqrt(4000)
    assert (np.abs(found.mean(axis=1) - list(TRUE.values())) < 4 * error).all()
