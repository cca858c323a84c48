"""Intraclass correlations: properties, refusals, and what the intervals cover."""

from __future__ import annotations

import math

import numpy as np
import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.intraclass import Intraclass, intraclass, intraclass_from_long


def known(found: Intraclass | TooLittleEvidence) -> Intraclass:
    assert isinstance(found, Intraclass)
    return found


def test_mean_squares_are_those_of_an_analysis_of_variance() -> None:
    table = np.random.default_rng(1).normal(size=(8, 3)) + np.arange(8)[:, None] / 3
    data = pandas.DataFrame(
        {
            "y": table.ravel(),
            "target": np.repeat(np.arange(8), 3),
            "rater": np.tile(np.arange(3), 8),
        }
    )
    oracle = anova_lm(ols("y ~ C(target) + C(rater)", data).fit())["mean_sq"]
    found = known(intraclass(table))
    assert found.between == pytest.approx(oracle["C(target)"])
    assert found.raters_mean_square == pytest.approx(oracle["C(rater)"])
    assert found.residual == pytest.approx(oracle["Residual"])


@given(
    st.lists(
        st.lists(st.integers(0, 9).map(float), min_size=3, max_size=3), min_size=4, max_size=10
    ),
    st.floats(0.1, 100),
    st.floats(-50, 50),
)
def test_scale_and_order_do_not_matter(
    table: list[list[float]], factor: float, shift: float
) -> None:
    one, two = intraclass(table), intraclass((np.array(table) * factor + shift)[::-1, ::-1])
    if isinstance(one, TooLittleEvidence):
        assert isinstance(two, TooLittleEvidence)
        return
    for form, held in one.forms.items():
        other = known(two).forms[form]
        assert other.value == pytest.approx(held.value, abs=1e-6, rel=1e-6)
        assert held.value <= 1 + 1e-12
        assert held.low is None or held.low <= held.value + 1e-9
        if held.high is not None:
            assert held.value <= held.high + 1e-9


def test_severity_counts_for_agreement_and_not_for_consistency() -> None:
    targets = np.arange(10.0)[:, None] + np.random.default_rng(2).normal(0, 0.3, (10, 3))
    shifted = targets + np.array([0, 3, -3])
    before, after = known(intraclass(targets)), known(intraclass(shifted))
    assert after.forms["ICC3"].value == pytest.approx(before.forms["ICC3"].value)
    assert after.forms["ICC2"].value < before.forms["ICC2"].value - 0.1


def test_raters_who_never_differ() -> None:
    found = known(intraclass([[1, 1], [2, 2], [4, 4]]))
    assert found.forms["ICC2"].value == 1
    assert found.forms["ICC1"].low is None
    assert found.forms["ICC1"].f is None


@pytest.mark.parametrize(
    ("table", "missing"),
    [([], "raters"), ([[1.0], [2.0]], "raters"), ([[3, 3], [3, 3], [3, 3]], "variation"),
     ([[1, 2], [1, 2], [1, 2]], "variation")],
)  # fmt: skip
def test_too_little(table: list[list[float]], missing: str) -> None:
    found = intraclass(table)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


def test_faults_in_the_data_are_told() -> None:
    gap = [[1, 2], [2, math.nan], [3, 3], [5, 4]]
    with pytest.raises(DataError, match="generalizability"):
        intraclass(gap)
    dropped = known(intraclass(gap, missing="drop"))
    assert (dropped.dropped, dropped.n) == (1, 3)
    with pytest.raises(DataError, match="shape"):
        intraclass(np.ones((2, 5)))
    assert isinstance(intraclass(np.ones((1, 5)), rows="units"), TooLittleEvidence)
    with pytest.raises(DataError):
        intraclass([[1, math.inf], [1, 2], [3, 4]])
    with pytest.raises(DataError):
        intraclass([["a", "b"], ["c", "d"], ["a", "c"]])
    with pytest.raises(DataError):
        intraclass_from_long([1, 1], ["A", "A"], [1.0, 2.0])
    with pytest.raises(DataError):
        intraclass_from_long([1, 1, 2], ["A", "B", "A"], [1.0, 2.0, 3.0])


@pytest.mark.parametrize(
    ("form", "severity", "most"), [("ICC1", 0.0, 0.97), ("ICC2", 0.5, 0.98), ("ICC3", 0.5, 0.97)]
)
def test_intervals_cover(form: str, severity: float, most: float) -> None:
    generator = np.random.default_rng(7)
    truth = 1 / (2 + (severity**2 if form == "ICC2" else 0))
    covered = []
    for _ in range(1000):
        table = generator.normal(size=(20, 1)) + generator.normal(size=(20, 4))
        held = known(intraclass(table + generator.normal(0, severity, (1, 4)))).forms[form]  # type: ignore[index]
        covered.append(held.low is not None and held.low <= truth <= (held.high or 1))
    assert 0.93 <= np.mean(covered) <= most
