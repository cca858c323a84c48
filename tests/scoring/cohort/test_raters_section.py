from __future__ import annotations

import pytest

from scoring.cohort.observed import observed_items, observed_totals
from scoring.cohort.rater_study import rater_study
from scoring.cohort.raters_section import raters_section
from scoring.measurement.severity import RaterSeverity
from scoring.observation import Observation
from tests.scoring.cohort.watched import observation, watched

ALIKE = {"AS-1": 0.0, "AS-2": 0.0, "AS-3": 0.0, "AS-4": 0.0}
ONE_LENIENT = {**ALIKE, "AS-4": 2.0}


def flags(observations: list[Observation]) -> dict[str, str]:
    raters = rater_study(observed_items(observations), observed_totals(observations)).raters
    return {code: one.flag for code, one in raters.items() if isinstance(one, RaterSeverity)}


@pytest.mark.parametrize("seed", range(4))
def test_one_lenient_assessor_is_named_and_makes_no_severe_ones_of_the_others(seed: int) -> None:
    found = flags(watched(ONE_LENIENT, performances=120, seed=seed))
    assert found == {"AS-1": "none", "AS-2": "none", "AS-3": "none", "AS-4": "lenient"}


def test_alike_assessors_are_seldom_named() -> None:
    named = sum(set(flags(watched(ALIKE, seed=seed)).values()) != {"none"} for seed in range(10))
    assert named <= 2


def test_the_worst_item_stands_first_although_the_total_looks_good() -> None:
    section = raters_section(watched(ALIKE, performances=120, hard={"five": 0.3}))
    item_sheet = next(sheet for sheet in section.sheets if sheet.name == "agreement-by-item")
    assert item_sheet.rows[0][0] == "sink-brush_v1/five"
    assert any("sink-brush_v1/five" in finding.headline for finding in section.findings)
    assert "The total hides" in section.html


def test_items_not_seen_count_neither_way() -> None:
    one = observation("made-occasion-1", "AS-1", {"a": "done", "b": "not_seen", "c": "not_done"})
    rows = observed_totals([one])
    assert rows["seen"].tolist() == [2]
    assert rows["share"].tolist() == [0.5]
    assert observed_items([one])["done"].isna().sum() == 1


def test_the_order_of_records_changes_nothing() -> None:
    made = watched(ONE_LENIENT)
    assert raters_section(made).html == raters_section(made[::-1]).html


@pytest.mark.parametrize(
    ("observations", "said"),
    [
        ([], "Nobody has been watched at the sink yet"),
        ([observation("made-occasion-1", "AS-1", {"a": "done"})], "oo little evidence"),
        ([observation("made-occasion-1", "AS-1", {"a": "not_seen"})], "oo little evidence"),
        (
            [observation(f"made-occasion-{n:02d}", "AS-1", {"a": "done"}) for n in range(30)],
            "Nobody was watched by two assessors at once",
        ),
        (
            [
                observation(f"made-occasion-{n:02d}", rater, {"a": "done"})
                for n in range(30)
                for rater in ("AS-1", "AS-2")
            ],
            "oo little evidence",
        ),
    ],
    ids=["none", "one", "not seen", "one rater", "all done"],
)
def test_degenerate_records_get_sentences(observations: list[Observation], said: str) -> None:
    section = raters_section(observations)
    assert said in section.html
    assert "nan" not in section.html
