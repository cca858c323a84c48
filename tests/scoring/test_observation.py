from __future__ import annotations

import json

import pytest
from pydantic import ValidationError

from scoring.observation import Observation

SOUND: dict[str, object] = {
    "kit": "0.1", "id": "obs-soak-1", "occasion": "occasion-1", "operator": "OP-101",
    "rater": "AS-1", "station": "soak", "checklist": "sink-soak", "checklist_version": 1,
    "checklist_digest": "a" * 64, "site": "bays", "at": "2025-03-03T08:00:00Z",
    "ratings": {"open-wide": "done"}, "overall": 3,
}  # fmt: skip


def test_a_sound_one_survives_writing_and_reading() -> None:
    one = Observation.model_validate(SOUND)
    assert Observation.model_validate_json(one.model_dump_json()) == one
    assert Observation.model_validate({**SOUND, "overall": None}).overall is None


@pytest.mark.parametrize(
    "change",
    [
        {"overall": 0}, {"overall": 6}, {"overall": 2.5}, {"overall": "3"}, {"overall": True},
        {"ratings": {}}, {"ratings": {"open-wide": "yes"}}, {"ratings": {"open-wide": None}},
        {"ratings": {"../x": "done"}}, {"ratings": {f"i{n}": "done" for n in range(41)}},
        {"at": "2025-03-03T08:00:00"}, {"at": "yesterday"}, {"rater": "OP-101"},
        {"rater": "Anna Example"}, {"id": "../../etc"}, {"id": "short"}, {"station": "sink"},
        {"checklist_version": 0}, {"checklist_digest": "abc"}, {"more": 1},
    ],
)  # fmt: skip
def test_a_malformed_one_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Observation.model_validate_json(json.dumps({**SOUND, **change}))
