from __future__ import annotations

import re

import numpy as np
import pytest

from scoring.cohort.first_answers import first_answers
from scoring.cohort.item_study import ItemStudy, item_study
from scoring.cohort.items_section import items_section
from scoring.cohort.partial import filled
from scoring.cohort.table import CohortTable
from tests.scoring.cohort.made import sitting, tabulate


def department(
    *, people: int = 48, items: int = 12, broken: int | None = None, seed: int = 1
) -> CohortTable:
    """People who differ; at the broken decision the able ones are called wrong."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(people):
        ability = rng.normal(0.5, 1.3)
        chance = 1 / (1 + np.exp(-(ability - np.linspace(-1, 1, items))))
        right = rng.random(items) < chance
        if broken is not None:
            right[broken] = not right[broken]
        made.append(sitting(f"OP-{101 + number}", "form_v1", {"brush": [float(x) for x in right]}))
    return tabulate(made)


def study_of(table: CohortTable) -> ItemStudy:
    return item_study(first_answers(table))


@pytest.mark.parametrize("seed", range(5))
def test_a_wrong_key_stands_first_with_what_to_do(seed: int) -> None:
    study = study_of(department(broken=4, seed=seed))
    assert study.items[0].name == "form_v1-brush/d4"
    assert study.items[0].code == "key_suspect"
    section = items_section(study)
    assert section.findings[0].headline.startswith("form_v1-brush, decision d4:")
    assert "Check the key" in section.findings[0].support
    assert "mark the sittings again" in section.html


def test_sound_decisions_are_named_in_few_departments_only() -> None:
    """With nothing wrong at most 1 department in 20 names any; here 10, so 3 would be too many."""
    named = [
        any(item.code in ("key_suspect", "misfit") for item in study_of(department(seed=s)).items)
        for s in range(100, 110)
    ]
    assert sum(named) <= 2


def test_the_order_of_sittings_changes_nothing() -> None:
    rng = np.random.default_rng(2)
    made = [
        sitting(f"OP-{101 + n}", "form_v1", {"brush": [float(x) for x in rng.random(6) < 0.6]})
        for n in range(30)
    ]
    one, other = study_of(tabulate(made)), study_of(tabulate(made[::-1]))
    assert [item.name for item in one.items] == [item.name for item in other.items]
    assert [item.probability for item in one.items] == pytest.approx(
        [item.probability for item in other.items]
    )


@pytest.mark.parametrize(
    "table",
    [
        tabulate([]),
        tabulate([sitting("OP-101", "form_v1", {"soak": [1.0]})]),
        tabulate([sitting(f"OP-{n}", "form_v1", {"soak": [1.0, 1.0]}) for n in range(101, 131)]),
        tabulate([sitting(f"OP-{n}", "form_v1", {"soak": [0.0, 0.0]}) for n in range(101, 131)]),
        tabulate([sitting("OP-101", "form_v1", {"soak": [None, None]})]),
    ],
    ids=["nobody", "one answer", "all right", "all wrong", "no answer"],
)
def test_degenerate_cohorts_get_sentences(table: CohortTable) -> None:
    section = items_section(study_of(table))
    assert re.search(r"[a-z]\.", section.html)
    assert section.findings
    assert "nan" not in section.html


def test_few_people_get_no_verdict() -> None:
    study = study_of(department(people=12, broken=2))
    assert {item.code for item in study.items} == {"too_little"}
    section = items_section(study)
    assert section.findings[0].headline == "None of 12 decisions needs action."
    assert "Decisions with fewer than 20 people get no verdict." in section.html


def test_what_comes_from_files_is_escaped() -> None:
    assert "<b>" not in filled("person_none", {"code": "<b>OP"})
    assert "&lt;b&gt;OP" in filled("person_none", {"code": "<b>OP"})
