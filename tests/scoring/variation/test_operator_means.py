"""Adjusted operator means against a dense least-squares solution and known truths."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as t_distribution

from scoring.variation.operator_means import LEAST_SITTINGS, operator_means
from scoring.variation.two_way import lay_out


def department(
    rng: np.random.Generator, kept: float = 1.0
) -> tuple[list[str], list[str], list[float], np.ndarray]:
    truth = 0.5 + 0.1 * rng.normal(size=20)
    o, f = np.repeat(np.arange(20), 4), np.tile(np.arange(4), 20)
    y = truth[o] + np.array([-0.15, 0.0, 0.05, 0.10])[f] + 0.05 * rng.normal(size=80)
    stays = (rng.random(80) < kept) | (f == 0)
    names = [f"OP-{100 + i}" for i in o[stays]]
    return names, [f"F{j}" for j in f[stays]], list(y[stays]), truth


def test_agrees_with_a_dense_solution_when_cells_are_missing() -> None:
    operators, forms, scores, _ = department(np.random.default_rng(1), kept=0.6)
    o, f = (np.unique(labels, return_inverse=True)[1] for labels in (operators, forms))
    design = np.hstack([np.eye(20)[o], np.eye(4)[f][:, 1:]])
    y = np.array(scores)
    fit = np.linalg.lstsq(design, y, rcond=None)[0]
    df = len(y) - design.shape[1]
    residual = ((y - design @ fit) ** 2).sum() / df
    contrast = np.hstack([np.eye(20), np.full((20, 3), 0.25)])
    means = contrast @ fit
    spread = np.einsum("ij,jk,ik->i", contrast, np.linalg.inv(design.T @ design), contrast)
    half = t_distribution.ppf(0.975, df) * np.sqrt(residual * spread)
    for k, result in enumerate(operator_means(lay_out(operators, forms, scores), (-9, 9))):
        assert result.mean == pytest.approx(means[k])
        assert result.low == pytest.approx(means[k] - half[k])
        assert result.high == pytest.approx(means[k] + half[k])


def test_intervals_cover_known_truths() -> None:
    rng = np.random.default_rng(2)
    inside = total = 0
    for _ in range(100):
        operators, forms, scores, truth = department(rng, kept=0.7)
        for result, true in zip(
            operator_means(lay_out(operators, forms, scores)), truth, strict=True
        ):
            assert result.low is not None
            assert result.high is not None
            inside += result.low <= true <= result.high
            total += 1
    # Forms have mean effect 0, so the adjusted mean estimates the operator's own level.
    assert inside / total == pytest.approx(0.95, abs=0.02)


def test_an_easy_form_alone_does_not_flatter() -> None:
    operators, forms, scores, _ = department(np.random.default_rng(3))
    easy = [i for i, (o, f) in enumerate(zip(operators, forms, strict=True))
            if o != "OP-100" or f == "F3"]  # fmt: skip
    layout = lay_out(*([column[i] for i in easy] for column in (operators, forms, scores)))
    alone = operator_means(layout)[0]
    assert alone.sittings == 1 < LEAST_SITTINGS
    assert not alone.enough
    assert alone.mean < layout.means[0]


def test_sorted_by_code_and_not_by_result() -> None:
    operators, forms, scores, _ = department(np.random.default_rng(4))
    order = np.random.default_rng(5).permutation(len(scores))
    shuffled = ([column[i] for i in order] for column in (operators, forms, scores))
    codes = [result.operator for result in operator_means(lay_out(*shuffled))]
    assert codes == sorted(codes)
    assert len(codes) == 20


@pytest.mark.parametrize("score", [0.0, 1.0])
def test_equal_scores_claim_no_certainty(score: float) -> None:
    operators, forms, scores, _ = department(np.random.default_rng(6))
    results = operator_means(lay_out(operators, forms, [score] * len(scores)))
    assert all(result.mean == score for result in results)
    assert all(result.low is None and result.high is None for result in results)
    assert not any(result.enough for result in results)


def test_few_sittings_give_no_interval() -> None:
    results = operator_means(lay_out(["OP-1", "OP-2"], ["F1", "F1"], [0.4, 0.6]))
    assert [(result.low, result.enough) for result in results] == [(None, False)] * 2


def test_ends_are_cut_to_the_scale() -> None:
    operators, forms, scores, _ = department(np.random.default_rng(7))
    high = [min(1.0, score + 0.45) for score in scores]
    for result in operator_means(lay_out(operators, forms, high)):
        assert result.low is not None
        assert result.high is not None
        assert 0 <= result.low <= result.mean <= result.high <= 1


def test_nobody_gives_nothing() -> None:
    assert operator_means(lay_out([], [], [])) == ()


def test_a_confidence_off_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        operator_means(lay_out(["OP-1"], ["F1"], [0.4]), confidence=95.0)


def test_groups_that_no_sitting_links_are_each_placed_by_their_own_forms() -> None:
    operators = ["A", "A", "B", "B", "C", "C", "D", "D"]
    forms = ["F1", "F2", "F1", "F2", "F3", "F4", "F3", "F4"]
    scores = [0.5, 0.7, 0.3, 0.5, 0.1, 0.2, 0.2, 0.3]
    means = [result.mean for result in operator_means(lay_out(operators, forms, scores))]
    assert means == pytest.approx([0.6, 0.4, 0.15, 0.25])
