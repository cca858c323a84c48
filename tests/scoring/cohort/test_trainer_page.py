from __future__ import annotations

import numpy as np
import pytest

from scoring.cohort.first_answers import first_answers
from scoring.cohort.form_study import form_figures, station_figures
from scoring.cohort.item_study import item_study
from scoring.cohort.table import CohortTable
from scoring.cohort.trainer_page import trainer_sections
from scoring.evidence import Estimate, TooLittleEvidence
from tests.scoring.cohort.made import department, sitting, tabulate
from tests.scoring.cohort.test_person_page import SITE


@pytest.mark.parametrize(
    "table",
    [
        tabulate([]),
        tabulate([sitting("OP-101", "form_v1", {"soak": [1.0]})]),
        tabulate([sitting("OP-101", "form_v1", {"soak": [1.0, 0.0]}, complete=False)]),
        tabulate([sitting(f"OP-{n}", "form_v1", {"soak": [1.0, 1.0]}) for n in range(101, 141)]),
    ],
    ids=["nobody", "one answer", "not handed in", "all right"],
)
def test_degenerate_cohorts_give_four_parts_in_sentences(table: CohortTable) -> None:
    sections = trainer_sections(table, [], SITE)
    assert [one.id for one in sections] == ["items", "forms", "raters", "cut-scores"]
    for one in sections:
        assert "." in one.html
        assert "nan" not in one.html


def test_an_easier_form_is_told_with_its_equal_cut() -> None:
    """The same people on two forms, one of which is truly easier by 1.5 logits."""
    rng = np.random.default_rng(5)
    made = []
    for number in range(60):
        ability = rng.normal(0.3, 1)
        for form, easier in (("a_v1", 0.0), ("b_v1", 1.5)):
            chance = 1 / (1 + np.exp(-(ability + easier)))
            right = [float(rng.random() < chance) for _ in range(12)]
            made.append(sitting(f"OP-{101 + number}", form, {"brush": right},
                                name=f"sitting-{form}-{number}"))  # fmt: skip
    table = tabulate(made)
    first, second = form_figures(table, item_study(first_answers(table)), 0.6)
    assert first.same_as is None
    assert isinstance(second.same_as, Estimate)
    assert second.differs
    # At the ability that expects 60 % right on the first: log(0.6 / 0.4) + 1.5 on the second.
    expected = 1 / (1 + np.exp(-(np.log(0.6 / 0.4) + 1.5)))
    assert second.same_as.low is not None
    assert second.same_as.high is not None
    assert second.same_as.low <= expected <= second.same_as.high


def test_more_scenarios_are_needed_where_people_differ_less() -> None:
    table = tabulate(department({"brush": 2.0, "rinse": 0.5}, operators=40, seed=4))
    brush, rinse = station_figures(table, 0.6)
    assert isinstance(brush.phi, Estimate)
    assert isinstance(rinse.phi, Estimate)
    assert brush.phi.value > rinse.phi.value
    assert not isinstance(brush.needed, TooLittleEvidence)
    assert isinstance(rinse.needed, TooLittleEvidence) or rinse.needed.n > brush.needed.n
