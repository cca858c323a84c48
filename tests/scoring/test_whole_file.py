"""A file is written whole, or the old one stays."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from scoring.faults import FaultError
from scoring.whole_file import write_whole


def test_a_file_is_written_with_its_folder_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "new" / "page.html"
    assert write_whole(path, "one\n") == path
    write_whole(path, "Zoë\r\n")
    assert path.read_bytes() == "Zoë\r\n".encode()
    write_whole(path, b"\xff\x00")
    assert path.read_bytes() == b"\xff\x00"
    assert [each.name for each in path.parent.iterdir()] == ["page.html"]


def test_a_place_that_cannot_be_written_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FaultError, match="can be written"):
        write_whole(tmp_path / "file" / "page.html", "text")
    assert (tmp_path / "file").read_text() == "in the way"


def test_a_full_disk_keeps_the_old_file_and_leaves_no_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_whole(tmp_path / "seat.json", "old")

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FaultError, match="No space left"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
