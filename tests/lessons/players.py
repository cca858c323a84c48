"""People who play a scenario: one who does all well, one who does all badly, and slips."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from itertools import chain
from pathlib import Path
from typing import Any

from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.credit import credit
from scoring.marking.right import right_answer
from scoring.play import Moment, after, opening
from scoring.scenario import Decision
from scoring.site import SiteValues
from scoring.units import COUNTED
from scoring.yaml_file import read_yaml

ROOT = Path(__file__).parent.parent.parent
LESSONS = ROOT / "lessons" / "scenarios"
BANK = ROOT / "assessments" / "bank"
SITES = sorted((ROOT / "lessons" / "sites").glob("*.yaml"))
SEEDS = (0, 1, 2, 3, 4, 5, 6, 7)


@cache
def library(*folders: Path) -> Library:
    return Library(folders or (LESSONS, BANK), ROOT / "lessons" / "instruments")


@cache
def site(path: Path) -> SiteValues:
    return read_yaml(path, SiteValues)


@cache
def instance(scenario: str, site_path: Path, seed: int) -> Instance:
    return library().instance(scenario, site(site_path), seed)


def right_answers(met: Instance) -> dict[str, Any]:
    return {decision.id: right_answer(decision, met) for decision in met.scenario.decisions}


def wrong_answers(decision: Decision, met: Instance) -> list[Any]:
    """Answers with a mistake in them: each option, each box, each broken rule, both sides."""
    right = right_answer(decision, met)
    if decision.kind == "choose_one":
        return [option.id for option in decision.options if option.credit < 1]
    if decision.kind == "choose_several":
        flipped = [tuple(sorted(set(right) ^ {tick.id})) for tick in decision.ticks]
        return [value for value in (*flipped, _wrong_boxes(decision)) if value]
    if decision.kind == "order":
        return [right[::-1], *(_moved(right, rule) for rule in decision.precedence)]
    if decision.kind == "mark_places":
        return [(), tuple(met.instrument.places), right[1:]]
    key = met.keys[decision.id]
    amounts = [key.low * 0.3, key.high * 1.2 + 1.0]
    if key.unit == "degC":
        amounts = [key.low - 12.0, key.high + 12.0]
    if key.unit in COUNTED:
        amounts = [float(math.floor(amounts[0])), float(math.ceil(amounts[1]))]
    return [{"amount": amount, "unit": key.unit} for amount in amounts]


def worst_answer(decision: Decision, met: Instance) -> Any:
    wrong = wrong_answers(decision, met)
    return min(wrong, key=lambda value: credit(decision, value, met).credit)


def play(met: Instance, answers: Mapping[str, Any]) -> list[Moment]:
    """The moments from the opening to the end; one more than there are decisions."""
    moments = [opening(met)]
    for decision in met.scenario.decisions:
        moments.append(after(met, decision, answers[decision.id], moments[-1]))
    return moments


def protein(met: Instance, moment: Moment) -> float:
    return float(sum(moment.state.protein_ug(place) for place in met.instrument.places))


def sentences(words: Any) -> list[str]:
    """Every sentence of a words file that a trainee can meet."""
    said = [words.title, words.situation, *words.aims, words.caution]
    for decision in words.decisions.values():
        said += [decision.question, decision.hint]
        said += chain(decision.answers.values(), decision.reasons.values())
    return [text for text in said if text]


def _wrong_boxes(decision: Any) -> tuple[str, ...]:
    return tuple(tick.id for tick in decision.ticks if not tick.right)


def _moved(right: tuple[str, ...], rule: Any) -> tuple[str, ...]:
    """The right order, but for one action that comes just after the one it must precede."""
    order = [name for name in right if name != rule.first]
    order.insert(order.index(rule.then) + 1, rule.first)
    return tuple(order)
