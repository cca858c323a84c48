"""Steps are compared directly, and nobody is told apart more often than was promised."""

from __future__ import annotations

import numpy as np

from scoring.cohort.step_variation import SURELY, likeliest_to_vary_most, step_variation
from scoring.variation.between import BetweenShare
from scoring.variation.binomial import BinomialFit
from scoring.variation.two_way import TwoWay, lay_out
from tests.scoring.cohort.made import department, sitting, tabulate

OPERATORS, FORMS = 16, 4


def scores(rng: np.random.Generator, spread: float) -> TwoWay:
    values = spread * rng.normal(size=(OPERATORS, 1)) + rng.normal(size=(OPERATORS, FORMS))
    who = np.repeat(np.arange(OPERATORS), FORMS).astype(str).tolist()
    what = np.tile(np.arange(FORMS), OPERATORS).astype(str).tolist()
    return lay_out(who, what, values.ravel().tolist())


def test_steps_of_equal_shares_are_told_apart_no_more_often_than_promised() -> None:
    rng = np.random.default_rng(5)
    runs = 300
    told = sum(
        max(likeliest_to_vary_most({"soak": scores(rng, 0.8), "brush": scores(rng, 0.8)}).values())
        >= SURELY
        for _ in range(runs)
    )
    assert told / runs <= 0.05 + 2 * np.sqrt(0.05 * 0.95 / runs)


def test_a_step_of_far_more_difference_is_named_and_probabilities_add_up() -> None:
    rng = np.random.default_rng(7)
    found = likeliest_to_vary_most(
        {"soak": scores(rng, 0.1), "brush": scores(rng, 4.0), "rinse": scores(rng, 0.2)}
    )
    assert found["brush"] > SURELY
    assert abs(sum(found.values()) - 1.0) < 1e-9
    assert likeliest_to_vary_most({"soak": scores(rng, 1.0)}) == {}


def test_a_strong_operator_is_better_than_a_weak_one_and_the_truth_lies_between() -> None:
    # exp(sqrt(2) * 2.0 * 0.6745) = 6.7, the median odds ratio of the planted spread.
    held = 0
    for seed in range(1, 5):
        marks = department({"soak": 0.2, "brush": 2.0}, operators=40, forms=6, seed=seed)
        soak, brush = step_variation(tabulate(marks))
        for step in (soak, brush):
            assert isinstance(step.fit, BinomialFit)
            assert step.range is not None
            assert step.range.lower.value < step.range.upper.value
            assert step.answers == 40 * 6 * 6
        assert brush.odds_ratio is not None
        assert soak.odds_ratio is not None
        assert brush.odds_ratio.value > soak.odds_ratio.value
        assert brush.odds_ratio.low is not None
        assert brush.odds_ratio.high is not None
        held += brush.odds_ratio.low < 6.7 < brush.odds_ratio.high
    # Of four 95 % intervals one misses in about 17 of 100 tries (the first does: its 40
    # operators happen to differ by 1.5 where 2.0 was planted), two hardly ever.
    assert held >= 3


def test_what_cannot_be_told_is_a_sentence() -> None:
    (few,) = step_variation(tabulate([sitting("OP-1", "f", {"soak": [1.0, 0.5]})]))
    assert few.range is None
    assert not isinstance(few.fit, BinomialFit)
    assert few.fit.said == "Only 1 operator; at least 5 are needed."
    right = [sitting(f"OP-{n}", f"f{f}", {"soak": [1.0] * 4}) for n in range(6) for f in range(2)]
    (alike,) = step_variation(tabulate(right))
    assert not isinstance(alike.fit, BinomialFit)
    assert alike.fit.missing == "difference"
    assert not any(isinstance(one.between, BetweenShare) for one in alike.measured)
    assert step_variation(tabulate([])) == ()
