"""A design in the field's notation and its effects."""

from __future__ import annotations

import pytest

from scoring.evidence import DataError
from scoring.measurement.g_design import read_design


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("p x i", ["p", "i", "pi"]),
        ("p \N{MULTIPLICATION SIGN} i", ["p", "i", "pi"]),
        ("p x (r:i)", ["p", "i", "pi", "r:i", "pr:i"]),
        ("p x r:i", ["p", "i", "pi", "r:i", "pr:i"]),
        ("(r:p) x i", ["p", "i", "r:p", "pi", "ri:p"]),
        ("i:p", ["p", "i:p"]),
        ("r:(p x i)", ["p", "i", "pi", "r:pi"]),
        ("(i x r):p", ["p", "i:p", "r:p", "ir:p"]),
        ("r:i:o", ["o", "i:o", "r:io"]),
        ("(p:c) x (i:t)", ["c", "t", "p:c", "i:t", "ct", "pt:c", "ic:t", "pi:ct"]),
        ("person x scenario", ["person", "scenario", "person x scenario"]),
        ("p x i x r", ["p", "i", "r", "pi", "pr", "ir", "pir"]),
    ],
)
def test_effects(text: str, names: list[str]) -> None:
    design = read_design(text)
    found = [design.name(effect) for effect in design.effects]
    assert {frozenset(name.replace(" x ", "")) for name in found} == {
        frozenset(name.replace(" x ", "")) for name in names
    }
    assert len(found) == len(names)
    for name in found:
        assert design.name(design.effect(name)) == name


def test_effects_are_found_in_any_order() -> None:
    design = read_design("p x (r:i)")
    assert {design.effect(text) for text in ("pr:i", "p x r:i", "irp", "pri", "rp")} == {
        frozenset("pri")
    }
    with pytest.raises(DataError):
        design.effect("q")


@pytest.mark.parametrize(
    "text", ["", "p x", "p x (r:i", "p i", "p x p", "x p", "p ; i", "p x i)", ":p", "()"]
)
def test_what_is_no_design(text: str) -> None:
    with pytest.raises(DataError):
        read_design(text)


def test_object_of_measurement() -> None:
    assert read_design("(r:p) x i").object_facet() == "p"
    assert read_design("scenario x person").object_facet() == "person"
    assert read_design("a:b").object_facet() == "b"
    with pytest.raises(DataError):
        read_design("p x i").object_facet("o")
