"""Which sitting counts."""

from __future__ import annotations

from datetime import timedelta

import pytest

from scoring.marking.attempts import counting
from scoring.marking.marks import SittingMarks, StationResult, Verdict
from tests.scoring.small import START


def sat(
    sitting: str, day: int, points: float, verdict: Verdict = "not yet", complete: bool = True
) -> tuple[object, SittingMarks]:
    station = StationResult("soak", verdict, points, 10, points / 10, 0, 1, 5, 0)
    marks = SittingMarks(sitting, "OP-001", "form_v1", complete, (), (station,))
    return START + timedelta(days=day), marks


THREE = [
    sat("second", 2, 9.0),
    sat("first", 1, 5.0),
    sat("third", 3, 7.0, "competent"),
    sat("open", 4, 10.0, "competent", complete=False),
]


@pytest.mark.parametrize(
    ("rule", "wanted"), [("first", "first"), ("last", "third"), ("best", "third")]
)
def test_the_forms_rule_decides(rule: str, wanted: str) -> None:
    assert counting(THREE, rule)["OP-001"][1].sitting == wanted  # type: ignore[arg-type]


def test_of_equally_good_the_earlier_counts() -> None:
    tries = [sat("later", 2, 9.0), sat("earlier", 1, 9.0)]
    assert counting(tries, "best")["OP-001"][1].sitting == "earlier"  # type: ignore[arg-type]


def test_a_clock_set_back_still_gives_one_order() -> None:
    tries = [sat("b", 1, 5.0), sat("a", 1, 6.0)]
    both = [counting(order, "last")["OP-001"][1].sitting for order in (tries, tries[::-1])]  # type: ignore[arg-type]
    assert both == ["b", "b"]


def test_nothing_handed_in_is_nobody() -> None:
    assert counting([THREE[3]], "best") == {}  # type: ignore[list-item]
