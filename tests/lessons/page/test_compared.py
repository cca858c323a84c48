"""What an answer did, beside what earlier answers did."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from lessons.page.interface import interface
from scoring.marking.right import right_answer
from tests.lessons.page.playing import begin, do, new_lesson

DRILL = "rinse-drill-treated-cloth"


def consequences(records: Path, wrong: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Play a lesson, right but for the answers in `wrong`, and keep what followed each answer."""
    lesson = new_lesson(records, "rinse")
    begin(lesson, scenario=DRILL)
    assert lesson.practice is not None
    seen = {}
    for decision in lesson.practice.scenario.decisions:
        value = wrong.get(decision.id, right_answer(decision, lesson.practice.instance))
        seen[decision.id] = do(lesson, "answer", decision=decision.id, value=value)
        do(lesson, "next")
    return seen


@pytest.mark.parametrize(("wrong", "told"), [({}, False), ({"wrung": "dripping"}, True)])
def test_a_right_answer_is_not_blamed_for_an_earlier_one(
    tmp_path: Path, wrong: dict[str, Any], told: bool
) -> None:
    seen = consequences(tmp_path, wrong)
    assert seen["passes"]["verdict"] == "right"
    assert (interface("en").say("earlier_shown") in seen["passes"]["said"]) == told
    assert interface("en").say("earlier_shown") not in seen["cloth-water"]["said"]


def test_a_wrong_answer_says_nothing_of_earlier_ones(tmp_path: Path) -> None:
    seen = consequences(tmp_path, {"wrung": "dripping", "passes": "once-over"})
    assert seen["passes"]["verdict"] == "partly"
    assert interface("en").say("earlier_shown") not in seen["passes"]["said"]
