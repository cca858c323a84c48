"""Units against published pairs, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.units import base_unit, from_base_unit, in_base_unit, known_units


@pytest.mark.parametrize(
    ("amount", "unit", "wanted", "base"),
    [
        # Fixed points of the two scales, exact by definition.
        (32, "degF", 0, "degC"),
        (212, "degF", 100, "degC"),
        (-40, "degF", -40, "degC"),
        # US customary volume, exact by definition (NIST Handbook 44, App. C; from memory):
        # 128 fl oz = 1 gallon = 231 cubic inches of 2.54 cm.
        (128, "fl oz", 231 * 2.54**3, "mL"),
        (1.5, "L", 1500, "mL"),
        (90, "s", 1.5, "min"),
        (2, "h", 120, "min"),
        (0.4, "cm", 4, "mm"),
        (3, "rinses", 3, "rinses"),
        (12, "strokes", 12, "strokes"),
    ],
)
def test_published_pairs(amount: float, unit: str, wanted: float, base: str) -> None:
    assert in_base_unit(amount, unit) == pytest.approx(wanted, abs=1e-9)
    assert base_unit(unit) == base


@given(st.sampled_from(known_units()), st.floats(-1e6, 1e6))
def test_there_and_back(unit: str, amount: float) -> None:
    assert from_base_unit(in_base_unit(amount, unit), unit) == pytest.approx(amount, abs=1e-6)


@given(st.sampled_from(known_units()), st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_more_stays_more(unit: str, amount: float, more: float) -> None:
    assert in_base_unit(amount + more, unit) > in_base_unit(amount, unit)


def test_an_unknown_unit_is_none() -> None:
    with pytest.raises(KeyError):
        in_base_unit(1, "drops")
