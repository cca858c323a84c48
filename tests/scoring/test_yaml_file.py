"""Reading a trainer's YAML file: plain words, the right line, and every fault of the file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from scoring.faults import FaultError
from scoring.model import Identifier, Model
from scoring.yaml_file import Lines, dotted, load_yaml, read_yaml


class Inner(Model):
    kind: Literal["small"]
    amount: float | Annotated[str, Field(pattern=r"^\$[a-z][a-z0-9_]*$")]


class Other(Model):
    kind: Literal["large"]
    count: int = Field(ge=2, lt=9)


class Outer(Model):
    id: Identifier
    parts: tuple[Annotated[Inner | Other, Field(discriminator="kind")], ...] = Field(min_length=1)
    strokes: dict[str, dict[str, int]] = Field(default_factory=dict)
    note: str = Field(default="", max_length=5)
    on: bool = False


def faults(path: Path, text: str) -> list[tuple[str, str, str]]:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FaultError) as error:
        read_yaml(path, Outer)
    return [(fault.item, fault.found, fault.wanted) for fault in error.value.faults]


GOOD = "id: one\nparts:\n  - {kind: small, amount: 3}\n  - kind: large\n    count: 4\n"


def test_a_sound_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "one.yaml"
    path.write_text(GOOD)
    assert read_yaml(path, Outer).parts[1] == Other(kind="large", count=4)


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("count: 4", "count: four", ("parts[2].count (line 5)", "four", "a whole number")),
        ("count: 4", "count: 4.5", ("parts[2].count (line 5)", "4.5", "a whole number")),
        ("count: 4", "count: 1", ("parts[2].count (line 5)", "1", "2 or more")),
        ("count: 4", "count: 9", ("parts[2].count (line 5)", "9", "a number below 9")),
        ("count: 4", "count:", ("parts[2].count (line 5)", "nothing", "a whole number")),
        ("    count: 4\n", "", ("parts[2].count (line 4)", "nothing", "this item")),
        ("amount: 3", "amount: x", ("parts[1].amount (line 3)", "x",
                                    "a number, or $ and the name of a parameter")),
        ("amount: 3", "amount: .inf", ("parts[1].amount (line 3)", "inf",
                                       "a number that is not infinite")),
        ("kind: large", "kind: huge", ("parts[2].kind (line 4)", "huge", "one of: small, large")),
        ("kind: large", "sort: large", ("parts[2].kind (line 4)", "nothing", "this item")),
        ("id: one", "id: One", ("id (line 1)", "One", "a short name: a lower-case letter, then "
                                "lower-case letters, digits, - or _, 64 at most")),
        ("id: one", "id: one\nnote: too long", ("note (line 2)", "too long",
                                                "at most 5 characters")),
        ("id: one", "id: one\non: perhaps", ("on (line 2)", "perhaps", "true or false")),
        ("id: one", "id: one\nidd: two", ("idd (line 2)", "two", "no such item here")),
        # Names that look like the checker's own words are the trainer's all the same.
        ("id: one", "id: one\nstrokes: {order: {int: x}}",
         ("strokes.order.int (line 2)", "x", "a whole number")),
    ],
)  # fmt: skip
def test_a_misfit_is_said_plainly_with_its_line(
    tmp_path: Path, old: str, new: str, wanted: tuple[str, str, str]
) -> None:
    assert faults(tmp_path / "one.yaml", GOOD.replace(old, new)) == [wanted]


def test_every_misfit_is_a_fault_of_its_own(tmp_path: Path) -> None:
    text = "id: ONE\nparts: []\nnote: far too long\nmore: 1\n"
    assert [item for item, _, _ in faults(tmp_path / "one.yaml", text)] == [
        "id (line 1)",
        "parts (line 2)",
        "note (line 3)",
        "more (line 4)",
    ]


def test_a_syntax_slip_is_said_with_its_line(tmp_path: Path) -> None:
    ((item, found, _),) = faults(tmp_path / "one.yaml", "id: one\nparts: [1, 2\nnote: x\n")
    assert item.startswith("line 3")
    assert "expected" in found


@given(st.lists(st.integers(0, 30) | st.sampled_from(["a", "b", "parts"]), max_size=6))
def test_any_path_has_a_name(where: list[str | int]) -> None:
    named = Lines(GOOD).item(tuple(where))
    assert named.startswith(dotted(where) or "the whole file")


def test_load_keeps_the_text(tmp_path: Path) -> None:
    path = tmp_path / "one.yaml"
    path.write_text(GOOD)
    assert load_yaml(path)[0] == GOOD
