"""What is asked for is what is shown; what is not there is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from scoring.cohort.asked import Asked, observed_part, part
from scoring.cohort.table import CohortTable
from scoring.faults import FaultError
from scoring.observation import Observation
from tests.scoring.cohort.made import department, tabulate

DAY = date(2025, 3, 3)


@pytest.fixture(scope="module")
def table() -> CohortTable:
    """Six people, the last three of them at another site; all on one day."""
    made = tabulate(department({"soak": 0.5, "brush": 1.0}, operators=6, forms=2))
    sat = made.sittings
    sites = sat["operator"].map(lambda code: "South" if code > "OP-103" else "North")
    return replace(made, sittings=sat.assign(site=sites))


def test_everything_is_the_same_table(table: CohortTable) -> None:
    assert part(table, Asked()) is table
    assert Asked().said() == ""


def test_each_choice_keeps_its_part(table: CohortTable) -> None:
    north = part(table, Asked(site="North"))
    assert north.operators() == ("OP-101", "OP-102", "OP-103")
    assert part(table, Asked(station="soak")).stations_met() == ("soak",)
    assert len(part(table, Asked(since=DAY, until=DAY)).sittings) == len(table.sittings)


def test_it_says_what_is_shown() -> None:
    said = Asked("North", "brush", date(2025, 3, 1), date(2025, 6, 30)).said()
    assert said == (
        "Only a part is shown: site North, step Brush, from 1 March 2025 and until 30 June 2025."
    )


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (Asked(site="East"), "one of North, South"),
        (Asked(station="rinse"), "one of soak, brush"),
        (Asked(since=date(2026, 1, 1)), "at least one sitting"),
        (Asked(until=date(2020, 1, 1)), "at least one sitting"),
        (Asked(since=DAY, until=date(2025, 3, 2)), "an end that is not before"),
    ],
)
def test_what_is_not_there_is_a_sentence(table: CohortTable, asked: Asked, said: str) -> None:
    with pytest.raises(FaultError, match=said):
        part(table, asked)


def test_a_site_of_nobody_is_a_sentence() -> None:
    with pytest.raises(FaultError, match="no sitting yet"):
        part(tabulate([]), Asked(site="North"))


def seen(code: str, station: str, day: int) -> Observation:
    return Observation.model_validate(
        {
            "kit": "0.1.0", "id": f"obs-{code.lower()}-{station}-{day}", "operator": code,
            "occasion": f"occ-{code.lower()}-{station}-{day}", "rater": "R-1", "station": station,
            "checklist": "list", "checklist_version": 1, "checklist_digest": "a" * 64,
            "site": "north", "at": datetime(2025, 3, day, 9, tzinfo=UTC), "ratings": {"a": "done"},
        }
    )  # fmt: skip


def test_observations_follow_the_same_choice(table: CohortTable) -> None:
    observed = [seen("OP-101", "soak", 1), seen("OP-104", "soak", 3), seen("OP-101", "brush", 5)]
    for asked, wanted in [
        (Asked(), [0, 1, 2]),
        (Asked(site="North"), [0, 2]),
        (Asked(station="soak"), [0, 1]),
        (Asked(since=date(2025, 3, 3)), [1, 2]),
        (Asked(until=date(2025, 3, 3)), [0, 1]),
    ]:
        assert observed_part(observed, table, asked) == tuple(observed[one] for one in wanted)
