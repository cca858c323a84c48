"""The right answer earns everything, in every scenario of lessons and bank and in every unit."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.credit import check_answer, credit
from scoring.marking.right import right_answer
from scoring.scenario import Decision
from scoring.site import SiteValues
from scoring.units import COUNTED
from scoring.yaml_file import read_yaml

ROOT = Path(__file__).parent.parent.parent.parent
LIBRARY = Library(
    (ROOT / "lessons" / "scenarios", ROOT / "assessments" / "bank"),
    ROOT / "lessons" / "instruments",
)
SITES = sorted((ROOT / "lessons" / "sites").glob("*.yaml"))
DECISIONS = [
    (name, decision)
    for name in LIBRARY.scenario_ids()
    for decision in LIBRARY.scenario(name).decisions
]


def met(name: str, path: Path, seed: int) -> Instance:
    return LIBRARY.instance(name, read_yaml(path, SiteValues), seed)


def test_every_kind_of_decision_is_among_them() -> None:
    assert {decision.kind for _, decision in DECISIONS} == {
        "choose_one", "choose_several", "order", "quantity", "mark_places",
    }  # fmt: skip


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", LIBRARY.scenario_ids())
def test_the_right_answer_earns_everything_in_each_unit(name: str, path: Path) -> None:
    for seed in (0, 1, 2):
        instance = met(name, path, seed)
        for decision in instance.scenario.decisions:
            units = (None, *decision.units) if decision.kind == "quantity" else (None,)
            for unit in units:
                value = right_answer(decision, instance, unit)
                assert check_answer(decision, value, instance) is None, (decision.id, value)
                got = credit(decision, value, instance)
                assert (got.credit, got.mistakes, got.unsafe) == (1.0, (), False), decision.id


@pytest.mark.parametrize(
    ("name", "decision"),
    [(name, decision) for name, decision in DECISIONS if decision.kind == "quantity"],
    ids=lambda part: part if isinstance(part, str) else part.id,
)
def test_an_amount_is_in_the_middle_of_its_window_and_in_the_unit_asked(
    name: str, decision: Decision
) -> None:
    instance = met(name, SITES[0], 0)
    key = instance.keys[decision.id]
    value = right_answer(decision, instance)
    assert isinstance(value, dict)
    assert value["unit"] == key.unit
    middle = (key.low + key.high) / 2
    assert float(value["amount"]) == pytest.approx(
        math.floor(middle) if key.unit in COUNTED else middle
    )


COUNTED_HERE = [
    pytest.param(name, decision, id=f"{name}/{decision.id}")
    for name, decision in DECISIONS
    if decision.kind == "quantity" and set(decision.units) <= COUNTED
]


@pytest.mark.parametrize(("name", "decision"), COUNTED_HERE)
def test_what_is_counted_comes_whole(name: str, decision: Decision) -> None:
    right = right_answer(decision, met(name, SITES[0], 0))
    assert isinstance(right, dict)
    amount = float(right["amount"])
    assert amount.is_integer()
    assert "whole number" in (check_answer(decision, right | {"amount": amount + 0.5}) or "")
