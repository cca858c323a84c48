"""The shelf holds notebooks with a door and nothing else."""

from __future__ import annotations

import asyncio

import pytest
from tornado.web import HTTPError

from lessons import HERE
from lessons.serving.shelf import NotebookShelf, name_of


def test_a_notebook_with_a_door_is_read() -> None:
    shelf = NotebookShelf({"/learn/soak": HERE / "soak.ipynb"})
    found = asyncio.run(shelf.get(name_of("/learn/soak")))
    assert found["content"].cells


@pytest.mark.parametrize("path", ["", "soak.ipynb", "../lessons/soak.ipynb", "/etc/passwd"])
def test_nothing_else_is(path: str) -> None:
    shelf = NotebookShelf({"/learn/soak": HERE / "soak.ipynb"})
    with pytest.raises(HTTPError) as told:
        asyncio.run(shelf.get(path))
    assert told.value.status_code == 404
    assert not shelf.file_exists(path)


def test_doors_give_different_names() -> None:
    assert name_of("/learn/soak") == "learn-soak.ipynb"
    assert name_of("/exam") == "exam.ipynb"
