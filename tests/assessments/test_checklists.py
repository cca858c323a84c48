"""The checklists that come with the kit, and what `sinkside check` says of damaged ones."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assessments.checklist_files import CHECKLISTS, checklist_words, checklists
from assessments.command.check import KINDS
from scoring.catalogue import mistakes
from scoring.check import check_files
from scoring.faults import Fault, FaultError
from scoring.library import Library


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(CHECKLISTS, tmp_path / "checklists"))


def check(*paths: Path) -> list[Fault]:
    return check_files(paths, Library([paths[0]], paths[0]), extra=KINDS)


def test_the_kits_own_are_sound_and_in_the_order_of_the_work() -> None:
    assert check(CHECKLISTS) == []
    assert list(checklists()) == ["soak", "brush", "rinse", "inspect"]


def test_each_has_a_bearable_length_and_few_critical_items() -> None:
    for checklist in checklists().values():
        assert 12 <= len(checklist.items) <= 14
        assert 2 <= sum(item.critical for item in checklist.items) <= 3
        for item in checklist.items:
            assert len(item.mistakes) <= 2
            if item.critical:
                assert max(mistakes()[name].severity for name in item.mistakes) >= 3


def test_words_are_short_say_who_decides_and_wait_for_a_review() -> None:
    for checklist in checklists().values():
        words = checklist_words(checklist, "en")
        assert words.review == "needs review"
        assert "IFU" in words.caution
        assert "local rules decide" in words.caution
        assert set(words.overall) == {1, 2, 3, 4, 5}
        for item in words.items.values():
            for text in (item.text, item.done, item.not_done):
                assert max(len(part.split()) for part in text.split(". ")) <= 20, text
            assert item.done != item.not_done


def test_a_language_without_words_gets_the_english_ones(folder: Path) -> None:
    soak = checklists()["soak"]
    assert checklist_words(soak, "fr").language == "en"
    with pytest.raises(FaultError, match="can be read"):
        checklist_words(soak.model_copy(update={"id": "other"}), "en")


def test_the_newest_version_is_taken_and_two_of_one_are_refused(folder: Path) -> None:
    old = (folder / "sink-soak.yaml").read_text(encoding="utf-8")
    newer = folder / "sink-soak_v2.yaml"
    newer.write_text(old.replace("version: 1\nstation", "version: 2\nstation"), encoding="utf-8")
    assert checklists(folder)["soak"].version == 2
    newer.write_text(old, encoding="utf-8")
    with pytest.raises(FaultError, match="one newest checklist"):
        checklists(folder)


CHANGES = [
    # file, old, new, where, found, wanted
    ("sink-soak.yaml", "M20]", "M999]", "items[4].mistakes[1]", "M999", "catalogue"),
    ("sink-soak.yaml", "M20]", "M44]", "items[4].mistakes[1]", "station brush", "soak or ready"),
    ("sink-soak.yaml", "M20]", "20]", "items[4].mistakes[1]", "20", ""),
    ("sink-soak.yaml", "[M20]", "[]", "items[4].mistakes", "", ""),
    ("sink-soak.yaml", "T2; B3", "T2; Q9", "items[4].basis", "Q9", "facts.csv"),
    ("sink-soak.yaml", "id: know-volume", "id: measure-dose", "the whole file", "", "stands twice"),
    ("sink-soak.yaml", "id: sink-soak", "id: sink-bath", "id", "sink-soak.yaml", "sink-bath"),
    ("sink-soak.yaml", "station: soak", "station: bath", "station", "bath", "ready, soak"),
    ("sink-soak.en.yaml", "  know-volume:", "  know-depth:", "items", "know-", ""),
    ("sink-soak.en.yaml", "language: en", "language: de", "checklist", "sink-soak.en", "soak.de"),
    ("sink-soak.en.yaml", '"Pours by eye', '" " #', "items.measure-dose.not_done", "nothing",
     "some text"),
    ("sink-soak.en.yaml", "  5: ", "  6: ", "overall", "6", ""),
    ("sink-soak.en.yaml", "checklist: sink-soak", "checklist: sink-bowl", "checklist", "sink-bowl",
     "a checklist"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "where", "found", "wanted"), CHANGES)
def test_each_slip_is_said(
    folder: Path, name: str, old: str, new: str, where: str, found: str, wanted: str
) -> None:
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    faults = check(folder)
    assert any(
        where in fault.item and found in fault.found and wanted in fault.wanted for fault in faults
    ), faults


def test_a_checklist_without_words_and_words_without_a_checklist_are_said(folder: Path) -> None:
    (folder / "sink-soak.en.yaml").unlink()
    (folder / "sink-brush.yaml").unlink()
    assert sorted(fault.found for fault in check(folder)) == ["no words", "sink-brush"]
