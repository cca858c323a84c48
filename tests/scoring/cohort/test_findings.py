from __future__ import annotations

import re

import pytest

from scoring.catalogue import mistakes as catalogue
from scoring.cohort.findings import findings
from scoring.cohort.frequent import frequent_mistakes
from scoring.cohort.outcome import station_outcomes
from scoring.cohort.saying import percent, span
from scoring.cohort.section import Finding
from scoring.cohort.step_risk import step_risks
from scoring.cohort.step_variation import likeliest_to_vary_most, step_variation
from scoring.marking.marks import SittingMarks
from scoring.variation.between import BetweenShare
from scoring.variation.two_way import lay_out
from tests.scoring.cohort.made import department, sitting, tabulate

TWO_WAY = ("operator", "form", "share")


def found(marks: list[SittingMarks]) -> dict[str, Finding]:
    table = tabulate(marks)
    outcomes = station_outcomes(table)
    layouts = {
        outcome.station: lay_out(
            *(table.finished(outcome.station)[name].tolist() for name in TWO_WAY)
        )
        for outcome in outcomes
    }
    said = findings(
        outcomes,
        frequent_mistakes(table, catalogue(), {}),
        step_variation(table),
        step_risks(table, catalogue(), {}),
        likeliest_to_vary_most(layouts),
    )
    return {finding.topic: finding for finding in said}


def test_the_step_that_depends_most_on_who_is_named_with_interval_and_n() -> None:
    marks = department({"soak": 0.1, "brush": 2.5, "rinse": 0.1}, decisions=12)
    outcome = {o.station: o for o in station_outcomes(tabulate(marks))}["brush"]
    assert isinstance(outcome.between, BetweenShare)
    who = found(marks)["who"]
    assert "in brushing scores" in who.headline
    assert percent(outcome.between.share) in who.headline
    assert span(outcome.between.low, outcome.between.high, sign="") in who.headline
    assert "24 operators, 96 sittings" in who.support
    assert who.headline.endswith("that is more than in any other step.")
    assert "A strong operator" in who.support


def test_steps_that_cannot_be_told_apart_are_said_to_be_so() -> None:
    who = found(department({"soak": 1.2, "brush": 1.2}))["who"]
    assert "cannot tell" in who.support
    assert "any other step" not in who.headline


def test_no_variation_between_people_is_said_as_such() -> None:
    for seed in range(1, 30):
        marks = department({"soak": 0.0}, seed=seed)
        between = station_outcomes(tabulate(marks))[0].between
        assert isinstance(between, BetweenShare)
        who = found(marks)["who"]
        if between.low == 0.0:
            assert who.headline.startswith("At no step")
            assert "0" in who.support
        else:
            assert "in soaking scores" in who.headline


def test_the_lowest_step_is_named() -> None:
    marks = [
        sitting(
            f"OP-{n}", f"f{form}", {"soak": [1.0] * 9 + [n % 2], "rinse": [n % 3 / 4, 0.1 * form]}
        )
        for n in range(1, 13)
        for form in range(3)
    ]
    result = found(marks)["result"]
    assert result.headline.startswith("The lowest results are in rinsing")
    assert "95 % interval" in result.support
    assert "12 operators, 36 sittings" in result.support


def test_the_step_with_most_risk_is_named_with_interval_and_unsafe_answers() -> None:
    marks = [
        sitting(f"OP-{n}", "f", {"soak": [1.0, 1.0], "brush": [float(n > 3), 1.0]})
        for n in range(1, 11)
    ]
    risk = found(marks)["risk"]
    points = 100 * 3 * catalogue()["M33"].severity / 20
    assert risk.headline.startswith(f"Most risk sits in brushing: {points:.0f} points")
    assert "3 mistakes in 20 decisions" in risk.support
    assert re.search(r"3 of 10 operators.*30\s%, 95 % interval 11 to 60\s%", risk.support)


def test_no_critical_failure_proves_no_safety() -> None:
    marks = [sitting(f"OP-{n}", "f", {"soak": [1.0, 0.5]}) for n in range(1, 11)]
    risk = found(marks)["risk"]
    assert "Nobody gave an unsafe answer" in risk.support
    assert re.search(r"0 to 28\s%", risk.support)


def test_the_most_common_mistake_comes_with_what_is_right() -> None:
    mistake = found(department({"soak": 0.5}))["mistake"]
    assert catalogue()["M20"].mistake[1:] in mistake.headline
    assert catalogue()["M20"].right_action in mistake.support
    assert "of 24 operators" in mistake.support


def test_the_steps_name_no_person() -> None:
    said = found(department({"soak": 2.0, "brush": 2.0}))
    text = " ".join(str(finding) for finding in said.values())
    assert not re.search(r"OP-\d", text)


def test_an_empty_cohort_says_what_to_do_first() -> None:
    said = found([])
    assert list(said) == ["nothing"]
    assert "sit an exam" in said["nothing"].support
    unfinished = [sitting("OP-1", "f", {"soak": [1.0]}, complete=False)]
    assert list(found(unfinished)) == ["nothing"]


@pytest.mark.parametrize("credit", [0.0, 1.0])
def test_all_alike_claims_nothing(credit: float) -> None:
    marks = [
        sitting(f"OP-{n}", f"f{form}", {"soak": [credit] * 5})
        for n in range(1, 9)
        for form in "abc"
    ]
    said = found(marks)
    assert said["who"].headline.startswith("Too little evidence")
    assert "same score" in said["who"].support
    assert "no interval" in said["result"].support
    assert ("mistake" in said) == (credit == 0.0)


def test_one_operator_claims_nothing_about_variation() -> None:
    said = found([sitting("OP-1", f"f{form}", {"soak": [1.0, 0.5]}) for form in range(4)])
    assert "Only 1 operator" in said["who"].support
    assert "only one operator" in said["result"].support


def test_every_finding_ends_as_a_sentence_and_has_no_code_words() -> None:
    for marks in (
        department({"soak": 0.3, "brush": 1.6}),
        [],
        department({"soak": 1.0}, operators=3),
    ):
        for finding in found(marks).values():
            assert finding.headline.endswith(".")
            assert finding.support.endswith(".")
            assert not re.search(r"nan|None|inf\b|_", str(finding))
