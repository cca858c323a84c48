"""The notebooks that have a door, and nothing else: the server's only way to a file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nbformat
from tornado.web import HTTPError


class NotebookShelf:
    """Stands where Jupyter has its contents manager, and reads only notebooks with a door.

    Parameters
    ----------
    doors : mapping of str to Path
        URL path to notebook file.
    """

    def __init__(self, doors: Mapping[str, Path]) -> None:
        self._files = {name_of(door): Path(path) for door, path in doors.items()}

    async def get(self, path: str, **_options: Any) -> dict[str, Any]:
        """Return the notebook of a door in Jupyter's form; 404 for every other path."""
        if path not in self._files:
            raise HTTPError(404)
        content = nbformat.read(self._files[path], as_version=4)  # type: ignore[no-untyped-call]
        return {"type": "notebook", "path": path, "content": content}

    def file_exists(self, path: str) -> bool:
        """Return False: no picture is taken into a page from a file."""
        return False


def name_of(door: str) -> str:
    """Return the name a door's notebook goes by: ``/learn/soak`` is ``learn-soak.ipynb``."""
    return door.strip("/").replace("/", "-") + ".ipynb"
