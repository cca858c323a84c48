from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree

import matplotlib as mpl
import pytest

from scoring.cohort.drawing import Drawn
from scoring.cohort.figures import (
    MOST_PEOPLE,
    ordered_by_who,
    outcome_figure,
    people_figure,
    who_figure,
)
from scoring.cohort.outcome import StationOutcome, station_outcomes
from scoring.variation.between import BetweenShare
from tests.scoring.cohort.made import department, sitting, tabulate

SPREAD = {"soak": 0.3, "brush": 1.8, "rinse": 0.8}


@pytest.fixture(scope="module")
def outcomes() -> tuple[StationOutcome, ...]:
    return station_outcomes(tabulate(department(SPREAD)))


@pytest.fixture(scope="module")
def figures(outcomes: tuple[StationOutcome, ...]) -> list[Drawn]:
    people = people_figure(outcomes)
    assert people is not None
    return [who_figure(outcomes), outcome_figure(outcomes), people]


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


def test_the_same_data_give_the_same_bytes(outcomes: tuple[StationOutcome, ...]) -> None:
    assert who_figure(outcomes) == who_figure(outcomes)
    assert people_figure(outcomes) == people_figure(outcomes)


def test_drawing_leaves_the_settings_of_others_alone(outcomes: tuple[StationOutcome, ...]) -> None:
    before = dict(mpl.rcParams)
    who_figure(outcomes)
    assert dict(mpl.rcParams) == before


def test_alt_text_tells_the_finding(
    figures: list[Drawn], outcomes: tuple[StationOutcome, ...]
) -> None:
    who, results, people = figures
    for outcome in outcomes:
        assert isinstance(outcome.between, BetweenShare)
        assert f"{round(100 * outcome.between.share)}" in who.alt
        assert outcome.mean is not None
        assert f"{round(100 * outcome.mean)}" in results.alt
    assert who.alt.index("Brush") < who.alt.index("Rinse")
    assert "24 operators, 96 sittings" in who.alt
    assert f"{outcomes[0].verdicts['not yet']} not yet" in results.alt
    assert "not by result" in people.alt


def test_steps_are_ordered_and_those_without_a_figure_come_last() -> None:
    marks = department({"soak": 0.3, "brush": 1.8})
    marks.append(sitting("OP-300", "form_v1", {"ready": [1.0, 0.5]}))
    ordered = ordered_by_who(station_outcomes(tabulate(marks)))
    assert [outcome.station for outcome in ordered] == ["brush", "soak", "ready"]
    assert "Getting ready too little evidence" in who_figure(ordered).alt


def test_too_many_people_for_one_sheet_give_no_figure_of_people() -> None:
    outcomes = station_outcomes(tabulate(department({"soak": 1.0}, operators=MOST_PEOPLE + 1)))
    assert people_figure(outcomes) is None
    assert people_figure(()) is None


def test_one_operator_and_equal_scores_can_be_drawn() -> None:
    for marks in (
        [sitting("OP-1", "f", {"soak": [1.0, 0.5]})],
        [sitting(f"OP-{n}", "f", {"soak": [1.0], "brush": [None]}) for n in range(1, 4)],
    ):
        outcomes = station_outcomes(tabulate(marks))
        for drawn in (who_figure(outcomes), outcome_figure(outcomes), people_figure(outcomes)):
            assert drawn is not None
            assert "nan" not in drawn.svg.lower()
