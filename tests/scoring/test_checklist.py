from __future__ import annotations

import pytest
from pydantic import ValidationError

from scoring.checklist import BORDERLINE, OVERALL, Checklist, ChecklistWords

ITEM = {"id": "open-wide", "mistakes": ["M27"], "basis": "B2"}
LIST = {"schema_version": 1, "id": "a", "version": 1, "station": "soak", "items": [ITEM]}
WORDS = {
    "schema_version": 1, "checklist": "a", "language": "en", "title": "t", "caution": "c",
    "items": {"open-wide": {"text": "t", "done": "d", "not_done": "n"}},
    "overall": dict.fromkeys(OVERALL, "grade"),
}  # fmt: skip


def test_a_sound_one_has_a_name() -> None:
    assert Checklist.model_validate(LIST).name == "a_v1"
    assert ChecklistWords.model_validate(WORDS).overall[BORDERLINE] == "grade"


@pytest.mark.parametrize(
    "change",
    [
        {"items": []},
        {"items": [ITEM, ITEM]},
        {"items": [{**ITEM, "id": f"i{number}"} for number in range(41)]},
        {"items": [{**ITEM, "mistakes": []}]},
        {"items": [{**ITEM, "mistakes": ["X1"]}]},
        {"items": [{**ITEM, "basis": ""}]},
        {"items": [{**ITEM, "wieght": 2}]},
        {"version": 0},
        {"station": "sink"},
        {"id": "../a"},
    ],
)
def test_a_malformed_checklist_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Checklist.model_validate({**LIST, **change})


@pytest.mark.parametrize(
    "change",
    [
        {"overall": {1: "one grade"}},
        {"overall": {**dict.fromkeys(OVERALL, "grade"), 6: "more"}},
        {"caution": ""},
        {"language": "english"},
        {"items": {"open-wide": {"text": "t", "done": "d"}}},
    ],
)
def test_malformed_words_are_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        ChecklistWords.model_validate({**WORDS, **change})
