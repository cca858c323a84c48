"""Longer and shorter forms: the formula, its inverse, and what cannot be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.form_length import items_needed, lengthening_needed, spearman_brown

SHARES = st.floats(0.05, 0.95)


@given(SHARES, SHARES)
def test_the_length_needed_gives_the_reliability_wanted(reliability: float, wanted: float) -> None:
    factor = lengthening_needed(reliability, wanted)
    assert isinstance(factor, float)
    assert spearman_brown(reliability, factor) == pytest.approx(wanted)


@given(SHARES, st.integers(1, 50), SHARES)
def test_items_needed_are_the_fewest(reliability: float, items: int, wanted: float) -> None:
    many = items_needed(items, reliability, wanted)
    assert isinstance(many, int)
    assert spearman_brown(reliability, many / items) >= wanted - 1e-9
    if many > 1:
        assert spearman_brown(reliability, (many - 1) / items) < wanted


def test_what_cannot_be_is_said() -> None:
    assert items_needed(10, 0.5, 0.75) == 30
    assert isinstance(items_needed(10, -0.1, 0.8), TooLittleEvidence)
    for arguments in ((1.2, 2.0), (0.5, 0.0), (-0.9, 3.0)):
        with pytest.raises(DataError):
            spearman_brown(*arguments)
    for wanted in (0.0, 1.0):
        with pytest.raises(DataError):
            lengthening_needed(0.5, wanted)
    with pytest.raises(DataError):
        items_needed(0, 0.5, 0.8)
