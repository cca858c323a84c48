"""The between-operator share against a published table, a dense oracle and known truths."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import f as f_distribution

from scoring.evidence import TooLittleEvidence
from scoring.variation.between import (
    LEAST_OPERATORS,
    LEAST_RESIDUAL_DF,
    BetweenShare,
    between_share,
)
from scoring.variation.two_way import lay_out

TABLE = Path(__file__).parents[2] / "data" / "published" / "vc_shrout_fleiss_1979.csv"
Rows = tuple[list[str], list[str], list[float]]


def shrout_fleiss() -> Rows:
    """Shrout PE, Fleiss JL (1979), Psychol Bull 86:420-428, Table 2: 6 targets, 4 judges.

    Status: read in public package documentation that quotes it, not in the paper.
    """
    rows = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
    return (
        [row["target"] for row in rows],
        [row["judge"] for row in rows],
        [float(row["rating"]) for row in rows],
    )


def simulate(
    rng: np.random.Generator, operators: int, forms: int, share: float, kept: float = 1.0
) -> Rows:
    """Normal scores whose true between share is `share`; forms differ in difficulty."""
    o = np.repeat(np.arange(operators), forms)
    f = np.tile(np.arange(forms), operators)
    y = (
        math.sqrt(share) * rng.normal(size=operators)[o]
        + np.linspace(-1, 1, forms)[f]
        + math.sqrt(1 - share) * rng.normal(size=len(o))
    )
    stays = rng.random(len(o)) < kept
    return ([f"OP-{i}" for i in o[stays]], [f"F{j}" for j in f[stays]], list(y[stays]))


def found(rows: Rows) -> BetweenShare:
    share = between_share(lay_out(*rows))
    assert isinstance(share, BetweenShare)
    return share


def test_icc_3_1_of_shrout_and_fleiss() -> None:
    share = found(shrout_fleiss())
    assert share.share == pytest.approx(0.71, abs=0.005)  # Table 4, printed to two places
    # Interval computed with the R package psych 2.2.9; more digits than any print.
    assert share.share == pytest.approx(0.7148407148407149, abs=1e-10)
    assert share.low == pytest.approx(0.34246476503, abs=1e-9)
    assert share.high == pytest.approx(0.94585826, abs=1e-8)
    assert (share.operators, share.forms, share.sittings) == (6, 4, 24)
    assert share.variance_within == pytest.approx(1.0194444444444444)  # EMS, Table 3: 1.02


def test_forms_that_differ_in_difficulty_change_nothing() -> None:
    operators, forms, scores = shrout_fleiss()
    shifted = [score + 10.0 * int(form) for form, score in zip(forms, scores, strict=True)]
    assert found((operators, forms, shifted)).share == pytest.approx(
        found((operators, forms, scores)).share
    )


def test_pivot_agrees_with_a_dense_solution_when_cells_are_missing_and_repeated() -> None:
    """The oracle diagonalises the reduced operator matrix, as the 1983 paper describes."""
    rng = np.random.default_rng(7)
    operators, forms, scores = simulate(rng, 15, 4, 0.8, kept=0.7)
    operators, forms, scores = operators + operators[:6], forms + forms[:6], scores + scores[:6]
    o, f = (np.unique(labels, return_inverse=True)[1] for labels in (operators, forms))
    z, x = np.eye(o.max() + 1)[o], np.eye(f.max() + 1)[f]
    y = np.array(scores)
    sweep = np.eye(len(y)) - x @ np.linalg.pinv(x)
    values, vectors = np.linalg.eigh(z.T @ sweep @ z)
    used = values > 1e-9
    t = vectors[:, used].T @ z.T @ sweep @ y / np.sqrt(values[used])
    both = np.hstack([x, z])
    rest = y - both @ np.linalg.lstsq(both, y, rcond=None)[0]
    df = len(y) - np.linalg.matrix_rank(both)
    share = found((operators, forms, scores))
    assert share.low > 0  # an end cut at 0 would not lie on the pivot
    for at, target in [
        (share.share, 1.0),
        (share.low, f_distribution.ppf(0.975, used.sum(), df)),
        (share.high, f_distribution.ppf(0.025, used.sum(), df)),
    ]:
        ratio = at / (1 - at)
        pivot = (t**2 / (1 + values[used] * ratio)).sum() / used.sum() / (rest @ rest / df)
        assert pivot == pytest.approx(target, rel=1e-6)


@pytest.mark.parametrize(
    ("operators", "forms", "truth", "kept"),
    [(24, 4, 0.5, 1.0), (24, 4, 0.5, 0.7), (24, 4, 0.1, 0.7), (10, 3, 0.3, 0.9)],
)
def test_the_interval_covers_a_known_truth(
    operators: int, forms: int, truth: float, kept: float
) -> None:
    """400 simulated departments; three standard errors below 95 % are 3.3 points.

    Above is allowed: where the estimate falls below 0 the upper end is held up.
    """
    rng = np.random.default_rng(20260301)
    covered = 0
    for _ in range(400):
        result = between_share(lay_out(*simulate(rng, operators, forms, truth, kept)))
        covered += isinstance(result, BetweenShare) and result.low <= truth <= result.high
    assert 0.95 - 0.033 <= covered / 400 <= 0.995


def test_the_estimate_is_right_on_average() -> None:
    rng = np.random.default_rng(3)
    shares = [found(simulate(rng, 60, 4, 0.4, kept=0.8)).share for _ in range(200)]
    assert np.mean(shares) == pytest.approx(0.4, abs=0.02)


def test_people_who_do_not_differ_give_nought_with_an_interval() -> None:
    rng = np.random.default_rng(11)
    below = [
        share
        for _ in range(40)
        if isinstance(share := between_share(lay_out(*simulate(rng, 24, 4, 0.0))), BetweenShare)
        and share.below_zero
    ]
    assert below
    for share in below:
        assert share.share == 0.0
        assert share.low == 0.0
        # Never narrower than an estimate of exactly 0 in this layout, 24 operators on 4 forms.
        exactly_nought = f_distribution.ppf(0.025, 23, 69)
        assert share.high == pytest.approx((1 / exactly_nought - 1) / (1 / exactly_nought + 3))


def test_operators_linked_by_no_common_form_still_count_inside_their_group() -> None:
    rng = np.random.default_rng(5)
    one, two = simulate(rng, 20, 3, 0.6), simulate(rng, 20, 3, 0.6)
    apart = (
        one[0] + [f"X{name}" for name in two[0]],
        one[1] + [f"X{name}" for name in two[1]],
        one[2] + [score + 50 for score in two[2]],
    )
    layout = lay_out(*apart)
    assert (layout.operator_df, layout.residual_df) == (38, 76)
    share = found(apart)
    assert share.low < 0.6 < share.high


def no_numbers(rows: Rows) -> Rows:
    return rows[0], rows[1], [math.nan] * len(rows[2])


def one_form(rows: Rows) -> Rows:
    kept = [i for i, form in enumerate(rows[1]) if form == "F0"]
    return tuple([column[i] for i in kept] for column in rows)  # type: ignore[return-value]


def own_forms(rows: Rows) -> Rows:
    """Nobody shares a form with anybody else."""
    return rows[0], [f"{form}-{name}" for name, form in zip(rows[0], rows[1], strict=True)], rows[2]


def own_form_twice(rows: Rows) -> Rows:
    return rows[0], list(rows[0]), rows[2]


def same_on_every_form(rows: Rows) -> Rows:
    return rows[0], rows[1], [float(name[3:]) for name in rows[0]]


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        (lambda rows: ([], [], []), "sittings"),
        (no_numbers, "sittings"),
        (lambda rows: tuple(column[: 4 * (LEAST_OPERATORS - 1)] for column in rows), "operators"),
        (lambda rows: tuple(column[:4] for column in rows), "operators"),
        (one_form, "repeats"),
        (own_forms, "links"),
        (own_form_twice, "links"),
        (lambda rows: (rows[0], rows[1], [1.0] * len(rows[2])), "difference"),
        (lambda rows: (rows[0], rows[1], [0.0] * len(rows[2])), "difference"),
        (same_on_every_form, "within"),
    ],
)
def test_too_little_is_said_and_never_a_number(change: object, missing: str) -> None:
    rows = simulate(np.random.default_rng(1), 24, 4, 0.5)
    result = between_share(lay_out(*change(rows)))  # type: ignore[operator]
    assert isinstance(result, TooLittleEvidence)
    assert result.missing == missing
    assert result.said.endswith(".")


def test_the_least_design_gives_a_figure_and_one_less_does_not() -> None:
    rows = simulate(np.random.default_rng(2), 6, 3, 0.5)
    assert lay_out(*rows).residual_df == LEAST_RESIDUAL_DF
    assert isinstance(between_share(lay_out(*rows)), BetweenShare)
    fewer = tuple(column[:-1] for column in rows)
    assert isinstance(between_share(lay_out(*fewer)), TooLittleEvidence)  # type: ignore[arg-type]


def test_scores_that_are_no_number_are_left_out_and_counted() -> None:
    rows = simulate(np.random.default_rng(4), 24, 4, 0.5)
    spoiled = (rows[0] + ["OP-1"], rows[1] + ["F1"], rows[2] + [math.nan])
    assert lay_out(*spoiled).left_out == 1
    assert found(spoiled) == found(rows)


def test_a_wrong_confidence_is_refused() -> None:
    layout = lay_out(*shrout_fleiss())
    for confidence in (0.0, 1.0, 95.0, math.nan):
        with pytest.raises(ValueError, match="confidence"):
            between_share(layout, confidence)


def test_columns_of_unequal_length_are_refused() -> None:
    with pytest.raises(ValueError, match="wanted one of each"):
        lay_out(["OP-1"], ["F1", "F2"], [0.5])


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 1000.0), st.floats(-50, 50), st.integers(0, 2**32 - 1), st.floats(0.6, 1.0))
def test_unit_and_origin_of_the_score_do_not_matter(
    factor: float, shift: float, seed: int, kept: float
) -> None:
    operators, forms, scores = simulate(np.random.default_rng(seed), 12, 4, 0.5, kept)
    one = between_share(lay_out(operators, forms, scores))
    other = between_share(lay_out(operators, forms, [factor * y + shift for y in scores]))
    assert type(one) is type(other)
    if isinstance(one, BetweenShare) and isinstance(other, BetweenShare):
        assert 0 <= one.low <= one.share <= one.high <= 1
        assert (other.share, other.low, other.high) == pytest.approx(
            (one.share, one.low, one.high), abs=1e-6
        )
