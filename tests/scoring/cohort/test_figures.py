from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import matplotlib as mpl
import pytest

from scoring.catalogue import mistakes
from scoring.cohort.drawing import Drawn
from scoring.cohort.figures import ordered_by_who, outcome_figure, steps_figure
from scoring.cohort.operator_figures import MOST_PEOPLE, funnel_figure, people_figure
from scoring.cohort.operator_rates import operator_study
from scoring.cohort.outcome import StationOutcome, station_outcomes
from scoring.cohort.step_risk import step_risks
from scoring.cohort.step_variation import step_variation
from scoring.marking.marks import SittingMarks
from scoring.variation.between import BetweenShare
from tests.scoring.cohort.made import department, sitting, tabulate

SPREAD = {"soak": 0.3, "brush": 1.8, "rinse": 0.8}


def steps_of(marks: list[SittingMarks]) -> Drawn:
    table = tabulate(marks)
    risks = {risk.station: risk for risk in step_risks(table, mistakes(), {})}
    return steps_figure(station_outcomes(table), risks)


def people_of(marks: list[SittingMarks]) -> tuple[Drawn | None, Drawn | None]:
    table = tabulate(marks)
    study = operator_study(table, step_variation(table), 0.2)
    return funnel_figure(study), people_figure(study)


@pytest.fixture(scope="module")
def outcomes() -> tuple[StationOutcome, ...]:
    return station_outcomes(tabulate(department(SPREAD)))


@pytest.fixture(scope="module")
def figures(outcomes: tuple[StationOutcome, ...]) -> list[Drawn]:
    funnel, people = people_of(department(SPREAD))
    assert funnel is not None
    assert people is not None
    return [steps_of(department(SPREAD)), outcome_figure(outcomes), funnel, people]


def test_each_is_well_formed_and_draws_something(figures: list[Drawn]) -> None:
    for drawn in figures:
        root = ElementTree.fromstring(drawn.svg)  # noqa: S314 (our own drawing)
        assert root.tag.endswith("svg")
        assert len(list(root.iter())) > 50


def test_nothing_is_loaded_and_nothing_runs(figures: list[Drawn]) -> None:
    for drawn in figures:
        assert "<script" not in drawn.svg
        assert "<image" not in drawn.svg
        assert not re.search(r'href="(?!#)', drawn.svg)
        assert "@import" not in drawn.svg


def test_ids_are_unique_on_a_page_with_all_of_them(figures: list[Drawn]) -> None:
    ids = [name for drawn in figures for name in re.findall(r'\bid="([^"]+)"', drawn.svg)]
    assert len(ids) == len(set(ids))
    for drawn in figures:
        own = set(re.findall(r'\bid="([^"]+)"', drawn.svg))
        used = re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', drawn.svg)
        assert {a or b for a, b in used} <= own


def test_the_style_stays_inside_its_figure(figures: list[Drawn]) -> None:
    for drawn in figures:
        for rule in re.findall(r"<style[^>]*>(.*?)</style>", drawn.svg, flags=re.DOTALL):
            assert rule.strip().startswith(f"#{drawn.name} ")


def test_the_same_data_give_the_same_bytes() -> None:
    marks = department(SPREAD, operators=8)
    assert steps_of(marks) == steps_of(marks)
    assert people_of(marks) == people_of(marks)


def test_drawing_leaves_the_settings_of_others_alone() -> None:
    before = dict(mpl.rcParams)
    steps_of(department(SPREAD, operators=8))
    assert dict(mpl.rcParams) == before


def test_alt_text_tells_the_finding(
    figures: list[Drawn], outcomes: tuple[StationOutcome, ...]
) -> None:
    steps, results, funnel, people = figures
    for outcome in outcomes:
        assert isinstance(outcome.between, BetweenShare)
        assert f"{round(100 * outcome.between.share)}" in steps.alt
        assert outcome.mean is not None
        assert f"{round(100 * outcome.mean)}" in results.alt
    assert steps.alt.index("Brush") < steps.alt.index("Rinse")
    assert "24 operators" in funnel.alt
    assert f"{outcomes[0].verdicts['not yet']} not yet" in results.alt
    assert "not by result" in people.alt
    assert "of 24 lie above the limit" in people.alt


def test_steps_are_ordered_and_those_without_a_figure_come_last() -> None:
    marks = department({"soak": 0.3, "brush": 1.8})
    marks.append(sitting("OP-300", "form_v1", {"ready": [1.0, 0.5]}))
    ordered = ordered_by_who(station_outcomes(tabulate(marks)))
    assert [outcome.station for outcome in ordered] == ["brush", "soak", "ready"]
    assert "Getting ready: too little evidence" in steps_of(marks).alt


def test_too_many_people_for_one_sheet_leave_the_funnel_only() -> None:
    funnel, people = people_of(department({"soak": 1.0}, operators=MOST_PEOPLE + 1))
    assert people is None
    assert funnel is not None


def test_somebody_far_out_is_labelled_by_code_and_nobody_else() -> None:
    marks = department({"soak": 0.2}, operators=20, level=2.0, decisions=12)
    marks += [sitting("OP-300", f"form_v{n}", {"soak": [0.0] * 12}) for n in range(1, 5)]
    funnel, _ = people_of(marks)
    assert funnel is not None
    assert funnel.alt.endswith("above the outer limit: OP-300.")


def test_nobody_one_operator_and_equal_scores_can_be_drawn_or_are_left_out() -> None:
    for marks in (
        [],
        [sitting("OP-1", "f", {"soak": [1.0, 0.5]})],
        [sitting(f"OP-{n}", "f", {"soak": [1.0], "brush": [None]}) for n in range(1, 4)],
    ):
        assert people_of(marks) == (None, None)
        if marks:
            assert "nan" not in steps_of(marks).svg.lower()
