from __future__ import annotations

from pathlib import Path

import pytest

from scoring.catalogue import mistakes
from scoring.cohort.own_results import own_results
from scoring.cohort.person_page import person_sections, well
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.scoring.cohort.made import department, sitting, tabulate
from tests.scoring.cohort.watched import observation

SITE = read_yaml(
    Path(__file__).parents[3] / "lessons" / "sites" / "invented-three-bays.yaml", SiteValues
)


@pytest.fixture(scope="module")
def table() -> CohortTable:
    return tabulate(department({"brush": 1.5, "rinse": 0.3}))


def everything(table: CohortTable, code: str) -> str:
    watched = [observation("made-occasion-1", "AS-1", {"a": "done"}, operator="OP-105")]
    sections = person_sections(table, watched, code, SITE)
    return " ".join(f"{one.title} {one.html} {one.findings} {one.sheets}" for one in sections)


def test_no_other_person_and_no_rank_is_on_the_sheet(table: CohortTable) -> None:
    text = everything(table, "OP-105")
    assert "OP-105" in text
    assert not [code for code in table.operators() if code != "OP-105" and code in text]


def test_what_goes_well_comes_first(table: CohortTable) -> None:
    assert person_sections(table, [], "OP-105", SITE)[0].title == "What goes well"


def test_rates_are_the_own_decisions(table: CohortTable) -> None:
    own = own_results(table, "OP-105", mistakes(), {})
    rows = table.decisions()
    mine = rows[(rows["operator"] == "OP-105") & rows["assessed"]]
    for step in own.steps:
        here = mine[mine["station"] == step.station]
        assert (step.right, step.answers) == (int((here["credit"] == 1).sum()), len(here))
        assert isinstance(step.rate, Estimate)
        assert step.others is not None


def test_few_others_show_no_range_and_few_answers_no_rate() -> None:
    made = [sitting(f"OP-{n}", "form_v1", {"soak": [1.0, 0.0]}) for n in (101, 102, 103)]
    (step,) = own_results(tabulate(made), "OP-101", mistakes(), {}).steps
    assert isinstance(step.rate, TooLittleEvidence)
    assert step.others is None
    assert "Too little evidence. Only 2 answers" in everything(tabulate(made), "OP-101")


def test_there_is_always_something_to_say_first() -> None:
    table = tabulate([sitting("OP-101", "form_v1", {"soak": [0.0, 0.0]})])
    assert well(own_results(table, "OP-101", mistakes(), {})) == ("0 of 2 decisions right.",)


@pytest.mark.parametrize("code", ["OP-999", "<b>nobody</b>"])
def test_somebody_without_a_sitting_gets_a_sentence(table: CohortTable, code: str) -> None:
    (one,) = person_sections(table, [], code, SITE)
    assert "has handed in an exam" in one.html
    assert "<b>" not in one.html
