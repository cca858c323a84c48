"""Observations on disk: what is damaged, doubled or contradictory is named and in no figure."""

from __future__ import annotations

from pathlib import Path

import pytest

from scoring.faults import FaultError
from scoring.observation import Observation
from scoring.records.observations import (
    LARGEST_BYTES,
    observations_folder,
    read_observations,
    write_observation,
)
from scoring.settings import Settings
from tests.scoring.test_observation import SOUND

ONE = Observation.model_validate(SOUND)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path, tmp_path / "site.yaml")


def also(**changes: object) -> Observation:
    return Observation.model_validate({**SOUND, **changes})


def test_nothing_there_is_nothing_wrong(settings: Settings) -> None:
    assert read_observations(settings) == ((), ())


def test_they_come_back_by_time_and_writing_again_changes_nothing(settings: Settings) -> None:
    late = also(id="aaa-later-one", occasion="occasion-2", at="2025-04-01T08:00:00+02:00")
    path = write_observation(settings, late)
    write_observation(settings, ONE)
    before = path.stat().st_mtime_ns
    assert write_observation(settings, late) == path
    assert path.stat().st_mtime_ns == before
    assert read_observations(settings) == ((ONE, late), ())


def test_another_of_the_same_id_is_refused_and_the_first_stays(settings: Settings) -> None:
    path = write_observation(settings, ONE)
    content = path.read_bytes()
    with pytest.raises(FaultError, match="a file of this name"):
        write_observation(settings, also(overall=1))
    assert path.read_bytes() == content


def test_a_folder_in_the_way_is_said(settings: Settings) -> None:
    (observations_folder(settings) / f"{ONE.id}.json").mkdir(parents=True)
    with pytest.raises(FaultError):
        write_observation(settings, ONE)
    seen, faults = read_observations(settings)
    assert (seen, len(faults)) == ((), 1)


SOUND_TEXT = ONE.model_dump_json()


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"null",
        b"[]",
        b"\xff\xfe{}",
        b"\0" * 50,
        b"[" * 50_000,
        SOUND_TEXT[:-20].encode(),
        SOUND_TEXT.replace('"done"', '"perhaps"').encode(),
        SOUND_TEXT.replace('"open-wide":', '"open-wide":"not_done","open-wide":').encode(),
        SOUND_TEXT.replace('"rater":"AS-1"', '"rater":"AS-1","rater":"AS-2"').encode(),
        SOUND_TEXT.encode() + b" " * LARGEST_BYTES,
        SOUND_TEXT.replace("obs-soak-1", "obs-soak-9").encode(),
    ],
)
def test_a_damaged_file_is_named_and_the_others_are_read(
    settings: Settings, content: bytes
) -> None:
    other = also(id="obs-other-1", occasion="occasion-9")
    write_observation(settings, other)
    path = observations_folder(settings) / f"{ONE.id}.json"
    path.write_bytes(content)
    seen, faults = read_observations(settings)
    assert seen == (other,)
    (fault,) = faults
    assert fault.file == str(path)
    assert fault.item
    assert fault.found
    assert fault.remedy


@pytest.mark.parametrize(
    ("change", "item"),
    [
        ({}, "rater"),
        ({"rater": "AS-2", "operator": "OP-102"}, "operator"),
        ({"rater": "AS-2", "station": "brush"}, "station"),
        ({"rater": "AS-2", "checklist_digest": "b" * 64}, "checklist_digest"),
    ],
)
def test_an_occasion_is_one_person_at_one_station_and_each_rater_once(
    settings: Settings, change: dict[str, object], item: str
) -> None:
    write_observation(settings, ONE)
    write_observation(settings, also(id="obs-soak-2", **change))
    seen, faults = read_observations(settings)
    assert seen == (ONE,)
    assert [fault.item for fault in faults] == [item]
