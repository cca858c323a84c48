"""No text is run as a formula, and numbers stay numbers."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.spreadsheet import FORMULA_STARTS, cell, csv_bytes


@given(st.text())
def test_no_text_is_run_as_a_formula(text: str) -> None:
    written = cell(text)
    assert not written.startswith(FORMULA_STARTS)
    assert written.removeprefix("'") == text.removeprefix("'") or written == text


@pytest.mark.parametrize("attack", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0"])
def test_known_attacks_are_text(attack: str) -> None:
    raw = csv_bytes(("a",), [(attack,)]).decode("utf-8-sig")
    assert next(iter(csv.DictReader(io.StringIO(raw, newline=""))))["a"] == f"'{attack}"


def test_negative_numbers_stay_numbers() -> None:
    assert cell(-0.25) == "-0.2500"
    assert cell(-3) == "-3"
    assert cell(None) == ""
