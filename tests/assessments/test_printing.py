"""Printed pages: nothing in them becomes HTML."""

from __future__ import annotations

import jinja2
import pytest

from assessments.printing import render


def test_a_value_nobody_gave_is_an_error_and_no_gap() -> None:
    with pytest.raises(jinja2.UndefinedError):
        render("slips.html.j2", title="A trial")


def test_values_are_escaped() -> None:
    page = render("slips.html.j2", title="<i>", slips=[{"code": "X1", "pin": "1", "name": "<b>"}])
    assert "<i>" not in page
    assert "<b>" not in page
