"""Writing to disk so that what is called saved is saved, and a failed write leaves no trace."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from scoring.records.troubles import RecordsError

FULL = "Free some space or ask for access, then try again. Everything saved before is kept."


def create(path: Path, content: bytes) -> None:
    """Write a new file whole; when that fails there is no file.

    Raises
    ------
    RecordsError
        The file is already there, or cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _not_written(path, error) from error
    try:
        file = path.open("xb")
    except FileExistsError as error:
        raise RecordsError.one(
            path,
            "the whole file",
            found="a file of this name",
            wanted="a new name",
            remedy="Resume this sitting, or start one with another name.",
        ) from error
    except OSError as error:
        raise _not_written(path, error) from error
    try:
        with file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _keep_name(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            path.unlink()
        raise _not_written(path, error) from error


def append(path: Path, content: bytes, size: int) -> None:
    """Add bytes to a file of `size` bytes; when that fails the file is cut back to `size`.

    Raises
    ------
    RecordsError
        The bytes cannot be written.
    """
    try:
        with path.open("r+b", buffering=0) as file:
            try:
                file.seek(size)
                view = memoryview(content)
                while view:
                    view = view[file.write(view) :]
                os.fsync(file.fileno())
            except OSError:
                with contextlib.suppress(OSError):
                    file.truncate(size)
                    os.fsync(file.fileno())
                raise
    except OSError as error:
        raise _not_written(path, error) from error


def set_aside(path: Path, whole: int) -> Path | None:
    """Move whatever stands after `whole` bytes to ``<file>.damaged-N`` and cut it off.

    Returns
    -------
    Path or None
        Where the broken bytes are now; None when there are none.
    """
    try:
        broken = path.read_bytes()[whole:]
    except OSError as error:
        raise _not_written(path, error) from error
    if not broken:
        return None
    number = 1
    while (aside := path.with_name(f"{path.name}.damaged-{number}")).exists():
        number += 1
    create(aside, broken)
    try:
        with path.open("r+b") as file:
            file.truncate(whole)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise _not_written(path, error) from error
    return aside


def _keep_name(folder: Path) -> None:
    """Flush the folder's entry too; Windows keeps names safe by itself and cannot open folders."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _not_written(path: Path, error: OSError) -> RecordsError:
    return RecordsError.one(
        path,
        "the whole file",
        found=error.strerror or type(error).__name__,
        wanted="a place that can be written",
        remedy=FULL,
    )
