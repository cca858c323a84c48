"""Printed pages: written whole or not at all, nothing in them becomes HTML."""

from __future__ import annotations

from pathlib import Path

import jinja2
import pytest

from assessments.printing import render, write_page
from scoring.faults import FaultError


def test_a_page_is_written_with_its_folder_and_replaced(tmp_path: Path) -> None:
    path = tmp_path / "new" / "page.html"
    assert write_page(path, "one") == path
    write_page(path, "Zoë")
    assert path.read_text(encoding="utf-8") == "Zoë"
    assert [each.name for each in path.parent.iterdir()] == ["page.html"]


def test_a_place_that_cannot_be_written_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FaultError, match="can be written"):
        write_page(tmp_path / "file" / "page.html", "text")


def test_a_value_nobody_gave_is_an_error_and_no_gap() -> None:
    with pytest.raises(jinja2.UndefinedError):
        render("slips.html.j2", title="A trial")


def test_values_are_escaped() -> None:
    page = render("slips.html.j2", title="<i>", slips=[{"code": "X1", "pin": "1", "name": "<b>"}])
    assert "<i>" not in page
    assert "<b>" not in page
