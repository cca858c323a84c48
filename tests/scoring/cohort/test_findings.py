from __future__ import annotations

import re

import pytest

from scoring.catalogue import mistakes as catalogue
from scoring.cohort.findings import findings
from scoring.cohort.frequent import frequent_mistakes
from scoring.cohort.outcome import station_outcomes
from scoring.cohort.saying import percent, span
from scoring.cohort.section import Finding
from scoring.marking.marks import SittingMarks
from scoring.variation.between import BetweenShare
from tests.scoring.cohort.made import department, sitting, tabulate


def found(marks: list[SittingMarks]) -> dict[str, Finding]:
    table = tabulate(marks)
    said = findings(station_outcomes(table), frequent_mistakes(table, catalogue(), {}))
    return {finding.topic: finding for finding in said}


def test_the_step_that_depends_most_on_who_is_named_with_interval_and_n() -> None:
    marks = department({"soak": 0.1, "brush": 2.5, "rinse": 0.1}, decisions=12)
    outcome = {o.station: o for o in station_outcomes(tabulate(marks))}["brush"]
    assert isinstance(outcome.between, BetweenShare)
    who = found(marks)["who"]
    assert "In brushing" in who.headline
    assert percent(outcome.between.share) in who.headline
    assert span(outcome.between.low, outcome.between.high) in who.support
    assert "24 operators, 96 sittings" in who.support
    assert "more than in soaking and rinsing" in who.support or "do not overlap" in who.support


def test_steps_that_cannot_be_told_apart_are_said_to_be_so() -> None:
    who = found(department({"soak": 1.2, "brush": 1.2}))["who"]
    assert "cannot tell" in who.support
    assert "overlaps with that of" in who.support


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
            assert "In soaking" in who.headline


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


def test_the_critical_step_is_named_with_people_and_interval() -> None:
    marks = [
        sitting(f"OP-{n}", "f", {"soak": [1.0, 0.5], "brush": [float(n > 3), 1.0]})
        for n in range(1, 11)
    ]
    critical = found(marks)["critical"]
    assert "in brushing: 3 of 10 operators" in critical.headline
    assert re.search(r"30\s%, 95 % interval 11 to 60\s%", critical.support)


def test_no_critical_failure_proves_no_safety() -> None:
    marks = [sitting(f"OP-{n}", "f", {"soak": [1.0, 0.5]}) for n in range(1, 11)]
    critical = found(marks)["critical"]
    assert critical.headline.startswith("Nobody")
    assert re.search(r"0 to 28\s%", critical.support)


def test_the_most_common_mistake_comes_with_what_is_right() -> None:
    mistake = found(department({"soak": 0.5}))["mistake"]
    assert catalogue()["M20"].mistake[1:] in mistake.headline
    assert catalogue()["M20"].right_action in mistake.support
    assert "of 24 operators" in mistake.support


def test_people_are_never_ranked() -> None:
    said = found(department({"soak": 2.0, "brush": 2.0}))
    text = " ".join(str(finding) for finding in said.values())
    assert not re.search(r"OP-\d", text)
    assert "cannot safely say who did better" in said["people"].headline


def test_people_who_are_clearly_apart_are_counted_apart() -> None:
    """Two groups far apart: of 66 pairs the 36 between the groups can be told."""
    marks = [
        sitting(f"OP-{n}", f"f{form}", {"soak": [float(n > 6)] * 9 + [float((n + form) % 2)]})
        for n in range(1, 13)
        for form in range(4)
    ]
    assert percent(30 / 66) in found(marks)["people"].headline


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
    assert said["people"].headline == "Nobody can be compared yet."


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
