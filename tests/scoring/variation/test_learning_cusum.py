"""The learning curve CUSUM: its verdicts, and how often they are wrong."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.variation.bernoulli_cusum import cusum_design, signal_probabilities
from scoring.variation.learning_cusum import learning_cusum

DESIGN = cusum_design(0.1, 0.25, alpha=0.1, horizon=60, purpose="competence")


def test_faultless_answers_show_it_at_the_fewest() -> None:
    chart = learning_cusum([0] * 40, DESIGN)
    assert chart.verdict == "shown"
    assert chart.at == str(DESIGN.fewest)
    assert chart.more == 0
    assert f"Competence was shown at answer {DESIGN.fewest}." in chart.said


def test_too_few_answers_are_neither_passed_nor_failed() -> None:
    for n in (0, 1, DESIGN.fewest - 1):
        chart = learning_cusum([0] * n, DESIGN)
        assert chart.verdict == "too little evidence"
        assert chart.too_little is not None
        assert chart.too_little.n == n
        assert chart.more == DESIGN.fewest - n


@given(st.lists(st.booleans(), max_size=60))
def test_the_faultless_answers_still_needed_are_the_fewest(row: list[bool]) -> None:
    chart = learning_cusum(row, DESIGN)
    if chart.verdict == "shown":
        return
    assert learning_cusum(row + [False] * chart.more, DESIGN).verdict == "shown"
    if chart.more > 1:
        assert learning_cusum(row + [False] * (chart.more - 1), DESIGN).verdict != "shown"


def test_it_says_what_it_promises() -> None:
    chart = learning_cusum([1, 0] * 20, DESIGN)
    assert chart.verdict == "not shown"
    for part in ("10 %", "25 %", "60 answers", f"{100 * DESIGN.alpha:.2g} %",
                 f"{100 * DESIGN.beta:.2g} %"):  # fmt: skip
        assert part in chart.said


@pytest.mark.parametrize(("p", "name"), [(0.25, "alpha"), (0.1, "beta")])
def test_false_and_true_discoveries_are_as_told(p: float, name: str) -> None:
    rows = np.random.default_rng(17).random((1500, 60)) < p
    shown = np.mean([learning_cusum(row, DESIGN).verdict == "shown" for row in rows])
    expected = DESIGN.alpha if name == "alpha" else 1 - DESIGN.beta
    assert shown == pytest.approx(expected, abs=0.035)
    assert expected == pytest.approx(signal_probabilities(DESIGN, p, 60)[-1])


def test_a_design_for_the_other_purpose_is_refused() -> None:
    with pytest.raises(ValueError, match="purpose"):
        learning_cusum([0], cusum_design(0.1, 0.25, 2.0))
