"""Removing folders that nbgrader made read-only."""

from __future__ import annotations

import shutil
import stat
from pathlib import Path


def remove_folder(folder: Path) -> None:
    """Remove a folder if it is there.

    nbgrader makes files read-only, and Windows does not delete such files.
    """
    if not folder.exists():
        return
    for path in folder.rglob("*"):
        if path.is_file():
            path.chmod(stat.S_IREAD | stat.S_IWRITE)
    shutil.rmtree(folder)
