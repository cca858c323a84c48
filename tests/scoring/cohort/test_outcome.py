from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t

from scoring.cohort.outcome import station_outcomes
from scoring.evidence import TooLittleEvidence
from scoring.marking.marks import SittingMarks
from scoring.variation.between import BetweenShare
from scoring.variation.intervals import wilson
from tests.scoring.cohort.made import department, sitting, tabulate


def outcome_of(marks: list[SittingMarks]):
    return station_outcomes(tabulate(marks))[0]


def test_the_mean_counts_operators_and_not_sittings() -> None:
    shares = {"OP-1": (0.5, 0.5), "OP-2": (1.0, 1.0), "OP-3": (0.75, 0.75)}
    marks = [
        sitting(operator, f"f{form}", {"soak": [1.0, share * 2 - 1.0]})
        for operator, pair in shares.items()
        for form, share in enumerate(pair)
    ]
    outcome = outcome_of(marks)
    half = t.ppf(0.975, 2) * np.std([0.5, 1.0, 0.75], ddof=1) / 3**0.5
    assert outcome.mean == pytest.approx(0.75)
    assert outcome.low == pytest.approx(0.75 - half)
    assert outcome.high == 1.0  # 0.75 + half is above 1 and is cut
    assert (outcome.operators, outcome.sittings) == (3, 6)


def test_verdicts_are_counted_for_every_sitting_unfinished_ones_too() -> None:
    marks = [
        sitting("OP-1", "f", {"soak": [1.0] * 20}),
        sitting("OP-2", "f", {"soak": [0.0] * 20}),
        sitting("OP-3", "f", {"soak": [1.0] * 20}, complete=False),
        sitting("OP-4", "f", {"soak": [None] * 20}),
    ]
    assert outcome_of(marks).verdicts == {
        "competent": 1, "borderline": 0, "not yet": 1, "not assessed": 2,
    }  # fmt: skip


def test_critical_failures_count_people_once() -> None:
    marks = [sitting("OP-1", f"f{form}", {"soak": [0.0, 1.0]}) for form in range(4)]
    marks += [sitting(f"OP-{number}", "f0", {"soak": [1.0, 1.0]}) for number in range(2, 11)]
    outcome = outcome_of(marks)
    assert outcome.critical_operators == 1
    assert outcome.critical == wilson(1, 10)


def test_between_share_and_people_come_with_the_outcome() -> None:
    outcome = outcome_of(department({"brush": 1.8}))
    assert isinstance(outcome.between, BetweenShare)
    assert outcome.between.low > 0.2
    assert [person.operator for person in outcome.people] == [f"OP-{n}" for n in range(101, 125)]


@pytest.mark.parametrize("credit", [0.0, 1.0])
def test_all_alike_has_a_mean_and_no_false_certainty(credit: float) -> None:
    marks = [
        sitting(f"OP-{operator}", f"f{form}", {"soak": [credit] * 4})
        for operator in range(1, 9)
        for form in range(3)
    ]
    outcome = outcome_of(marks)
    assert (outcome.mean, outcome.low, outcome.high) == (credit, None, None)
    assert isinstance(outcome.between, TooLittleEvidence)
    assert outcome.between.missing == "difference"


def test_one_operator_has_a_mean_and_no_interval() -> None:
    marks = [sitting("OP-1", f"f{form}", {"soak": [1.0, 0.5]}) for form in range(4)]
    outcome = outcome_of(marks)
    assert (outcome.mean, outcome.low, outcome.high) == (0.75, None, None)
    assert isinstance(outcome.between, TooLittleEvidence)
    assert outcome.between.missing == "operators"


def test_a_station_nobody_finished_has_no_number() -> None:
    outcome = outcome_of([sitting("OP-1", "f", {"soak": [None, None]})])
    assert outcome.mean is outcome.critical is None
    assert outcome.people == ()
    assert isinstance(outcome.between, TooLittleEvidence)


def test_nobody_gives_no_outcome() -> None:
    assert station_outcomes(tabulate([])) == ()
