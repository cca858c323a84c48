"""Telling a network drive from a local disk."""

from __future__ import annotations

from pathlib import Path, PureWindowsPath

import pytest

from scoring.records.network_path import is_share, network_kind

MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/export /mnt/records nfs4 rw 0 0
//server/share /mnt/our\\040share cifs rw 0 0
/dev/sdb1 /mnt/records/local ext4 rw 0 0
broken line
"""


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        ("/home/somebody/records/index.sqlite", None),
        ("/mnt/records/index.sqlite", "nfs4"),
        ("/mnt/records/new/folder/index.sqlite", "nfs4"),
        ("/mnt/records/local/index.sqlite", None),
        ("/mnt/records-local/index.sqlite", None),
        ("/mnt/our share/index.sqlite", "cifs"),
        ("//server/share/index.sqlite", "a network share"),
        ("\\\\server\\share\\index.sqlite", "a network share"),
    ],
)
def test_by_the_table_of_mounts(path: str, wanted: str | None) -> None:
    assert network_kind(Path(path), MOUNTS) == wanted


@pytest.mark.parametrize(
    ("path", "wanted"),
    [
        (r"\\server\share\index.sqlite", True),
        (r"\\?\UNC\server\share\index.sqlite", True),
        (r"\\?\C:\records\index.sqlite", False),
        (r"C:\records\index.sqlite", False),
        (r"records\index.sqlite", False),
    ],
)
def test_shares_as_windows_writes_them(path: str, wanted: bool) -> None:
    assert is_share(PureWindowsPath(path)) == wanted


def test_this_machines_own_table_can_be_read(tmp_path: Path) -> None:
    assert network_kind(tmp_path / "index.sqlite") is None


def test_a_link_to_a_share_is_followed(tmp_path: Path) -> None:
    mounts = f"/dev/sda1 / ext4 rw 0 0\nserver:/x {tmp_path.resolve()}/far nfs rw 0 0\n"
    (tmp_path / "far").mkdir()
    (tmp_path / "near").symlink_to(tmp_path / "far")
    assert network_kind(tmp_path / "near" / "index.sqlite", mounts) == "nfs"
