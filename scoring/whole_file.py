"""Writing a file whole or not at all, over one that may be there already."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from scoring.faults import FaultError


def write_whole(path: Path, text: str | bytes) -> Path:
    """Write a file whole or leave the old one as it was, and return its path.

    Parameters
    ----------
    path : Path
        The file; missing folders are made.
    text : str or bytes
        The whole content; text is written as UTF-8 with its line ends unchanged.

    Raises
    ------
    FaultError
        The place cannot be written.
    """
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with part.open("wb") as file:
                file.write(text.encode("utf-8") if isinstance(text, str) else text)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        except OSError:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=error.strerror or type(error).__name__,
            wanted="a place that can be written",
            remedy="Free some space, close the file if it is open elsewhere, or choose another "
            "folder; then try again.",
        ) from error
    return path
