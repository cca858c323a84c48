from __future__ import annotations

from pathlib import Path

import pytest

from scoring.cohort.gather import Gathered, gather
from scoring.cohort.invented import INVENTED
from scoring.faults import FaultError
from scoring.settings import Settings
from tests.scoring.cohort.indexed import put
from tests.scoring.cohort.made import department, sitting


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path / "records", tmp_path)


def sittings(gathered: Gathered) -> set[str]:
    return set(gathered.table.sittings["sitting"])


def test_what_was_stored_comes_back(settings: Settings) -> None:
    marks = department({"soak": 0.5}, operators=6)
    put(settings, marks)
    gathered = gather(settings)
    assert sittings(gathered) == {one.sitting for one in marks}
    assert (gathered.invented, gathered.left_out, gathered.repeated, gathered.waiting) == (
        False, 0, 0, 0,
    )  # fmt: skip


def test_nobody_has_sat(settings: Settings) -> None:
    gathered = gather(settings)
    assert sittings(gathered) == set()
    assert gathered.origin == ()
    assert not gathered.invented


def test_the_last_sitting_counts_unless_the_form_says_otherwise(settings: Settings) -> None:
    first = sitting("OP-1", "form_v1", {"soak": [1.0]}, name="first-try-1")
    second = sitting("OP-1", "form_v1", {"soak": [0.0]}, name="another-try-1")
    put(settings, [first])
    put(settings, [second], day=1)
    assert sittings(gather(settings)) == {second.sitting}
    assert gather(settings).repeated == 1
    assert sittings(gather(settings, {"form_v1": "first"})) == {first.sitting}
    assert sittings(gather(settings, {"form_v1": "best"})) == {first.sitting}


def test_who_handed_nothing_in_is_shown_as_unfinished_once(settings: Settings) -> None:
    tries = [
        sitting("OP-1", "form_v1", {"soak": [1.0]}, complete=False, name=f"attempt-{n}")
        for n in (1, 2)
    ]
    put(settings, tries[:1])
    put(settings, tries[1:], day=1)
    assert sittings(gather(settings)) == {tries[1].sitting}


def test_an_unfinished_try_never_replaces_one_that_was_handed_in(settings: Settings) -> None:
    done = sitting("OP-1", "form_v1", {"soak": [1.0]}, name="done-sitting")
    left = sitting("OP-1", "form_v1", {"soak": [0.0]}, complete=False, name="left-sitting")
    put(settings, [done])
    put(settings, [left], day=1)
    assert sittings(gather(settings)) == {done.sitting}


def test_lessons_do_not_count(settings: Settings) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [1.0]})], purpose="lesson")
    assert sittings(gather(settings)) == set()


def test_invented_sittings_are_known_and_never_mixed_with_real_ones(settings: Settings) -> None:
    invented = [
        sitting(f"OP-{n}", "form_v1", {"soak": [1.0]}, name=f"{INVENTED}op-{n}") for n in (1, 2)
    ]
    put(settings, invented)
    assert gather(settings).invented
    assert len(sittings(gather(settings))) == 2
    real = sitting("OP-9", "form_v1", {"soak": [1.0]})
    put(settings, [real], day=1)
    gathered = gather(settings)
    assert sittings(gathered) == {real.sitting}
    assert not gathered.invented
    assert gathered.left_out == 2


def test_logs_that_are_not_marked_are_counted(settings: Settings) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [1.0]})])
    put(settings, [sitting("OP-2", "form_v1", {"soak": [1.0]})], stored=False)
    assert gather(settings).waiting == 1
    assert len(sittings(gather(settings))) == 1


def test_origin_names_period_forms_site_and_versions(settings: Settings) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [1.0]})])
    put(settings, [sitting("OP-1", "form_v2", {"soak": [1.0]})], day=40)
    said = dict(gather(settings).origin)
    assert said["Sat between"] == "2025-03-03 and 2025-04-12"
    assert said["Forms (digest)"] == "form_v1 (ffffffffffff); form_v2 (ffffffffffff)"
    assert said["Site values (digest)"] == "invented-bays (555555555555)"


def test_an_index_that_is_none_is_said_with_the_remedy(settings: Settings) -> None:
    settings.records.mkdir()
    (settings.records / "index.sqlite").write_text("not a database " * 100)
    with pytest.raises(FaultError, match="mark each exam again"):
        gather(settings)
