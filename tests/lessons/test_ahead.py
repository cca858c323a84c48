"""What an answer leads to is seen at once: a decision without a step looks ahead to one.

Figures are those of the page. A decision that neither acts nor looks ahead is
listed below with its reason, so that none is forgotten silently.
"""

from __future__ import annotations

import csv
import random
from pathlib import Path
from typing import Any

import pytest

from lessons.drawing import draw
from lessons.page.figures import changed_figures
from lessons.page.interface import interface
from scoring.instance import Instance
from scoring.marking.credit import credit
from scoring.play import Moment, after, looking_ahead, opening
from scoring.scenario import ChooseSeveral, Decision, Order
from tests.lessons.players import (
    LESSONS,
    SITES,
    instance,
    library,
    right_answer,
    wrong_answers,
)

LESSON_IDS = library(LESSONS).scenario_ids()
SEEDS = (0, 3, 5)

JUDGED = Path(__file__).with_name("judged")
"""One file a station: decisions, or boxes of one, whose consequence cannot be seen, and why."""


def _judged() -> list[dict[str, str]]:
    rows = []
    for path in sorted(JUDGED.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            rows += list(csv.DictReader(lines))
    return rows


JUDGED_ONLY = {row["decision"]: row["why"] for row in _judged() if not row["box"]}
"""Decisions whose consequence cannot be seen, each with the reason."""

NOT_ON_THE_BENCH = {
    f"{row['decision']}/{row['box']}": row["why"] for row in _judged() if row["box"]
}
"""Boxes of a decision that looks ahead, whose mistake the bench does not model."""

SPENT = {"minutes", "strokes", "flush_ml", "rinses"}
"""How much of a step; done with when the step has run, and set anew for the next."""

CASES = [
    pytest.param(f"{name}/{decision.id}", path, id=f"{name}/{decision.id}/{path.stem}")
    for name in LESSON_IDS
    for decision in library().scenario(name).decisions
    if decision.ahead is not None
    for path in SITES
]


def shown(met: Instance, moment: Moment) -> str:
    return draw(met.instrument, moment.state, moment.handling, title="").svg


def differ(met: Instance, one: Moment, other: Moment) -> bool:
    """Whether a trainee sees a difference: another picture, or a figure that reads differently."""
    figures = changed_figures(met, one, other, interface("en"), "en")
    return shown(met, one) != shown(met, other) or any(
        figure["before"] != figure["after"] for figure in figures
    )


def met_at(name: str, met: Instance) -> tuple[Decision, Moment]:
    """The decision, and the moment at which somebody meets it who did all well before."""
    moment = opening(met)
    for decision in met.scenario.decisions:
        if decision.id == name.partition("/")[2]:
            return decision, moment
        moment = after(met, decision, right_answer(decision, met), moment)
    raise KeyError(name)


def led(name: str, path: Any, seed: int) -> tuple[Instance, Moment, list[tuple[str, Moment]]]:
    """Where the right answer leads, and where each wrong one does that the bench models."""
    met = instance(name.partition("/")[0], path, seed)
    decision, before = met_at(name, met)
    right = right_answer(decision, met)
    best = looking_ahead(met, decision, after(met, decision, right, before))
    wrong = [
        (str(value), looking_ahead(met, decision, after(met, decision, value, before)))
        for value in wrong_answers(decision, met)
        if not _beyond_the_bench(name, decision, value, right)
    ]
    return met, best, wrong


def _beyond_the_bench(name: str, decision: Decision, value: Any, right: Any) -> bool:
    if not isinstance(decision, ChooseSeveral):
        return False
    flipped = {f"{name}/{box}" for box in set(value) ^ set(right)}
    return flipped <= NOT_ON_THE_BENCH.keys()


def acts(decision: Decision) -> bool:
    steps = isinstance(decision, Order) and any(item.step for item in decision.items)
    return bool(decision.step) or steps


@pytest.mark.parametrize(("name", "path"), CASES)
def test_a_wrong_answer_leads_somewhere_else_and_it_shows(name: str, path: Any) -> None:
    for seed in SEEDS:
        met, best, wrong = led(name, path, seed)
        assert wrong
        for value, worse in wrong:
            assert differ(met, worse, best), (seed, value)


@pytest.mark.parametrize(("name", "path"), CASES)
def test_the_right_answer_never_leads_to_more_protein(name: str, path: Any) -> None:
    for seed in SEEDS:
        met, best, wrong = led(name, path, seed)
        for value, worse in wrong:
            for place in met.instrument.places:
                left = best.state.protein_ug(place)
                assert left <= worse.state.protein_ug(place) * (1 + 1e-9), (seed, value, place)


@pytest.mark.parametrize("name", LESSON_IDS)
def test_what_looks_ahead_settles_only_what_is_not_settled_yet(name: str) -> None:
    """Else the picture would show another answer than the one given."""
    settled: set[str] = set()
    for decision in library().scenario(name).decisions:
        settled |= _settles(decision)
        if acts(decision):
            settled -= SPENT
        if decision.ahead is not None:
            assumed = decision.ahead.handling.settings()
            assert not settled & assumed.keys(), decision.id


def _settles(decision: Decision) -> set[str]:
    changes: list[Any] = []
    if decision.kind == "choose_one":
        changes = [option.handling for option in decision.options]
    elif decision.kind == "choose_several":
        changes = [tick.handling for tick in decision.ticks]
        changes += [tick.handling_without for tick in decision.ticks]
    elif decision.kind == "order":
        changes = [item.handling for item in decision.items]
    settled = {setting for change in changes for setting in change.settings()}
    return settled | {decision.sets} if decision.kind == "quantity" else settled


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", LESSON_IDS)
def test_what_is_assumed_of_later_decisions_is_right(name: str, path: Any) -> None:
    """Each assumed setting earns everything, or is what the later right answers set."""
    met = instance(name, path, 0)
    decisions = met.scenario.decisions
    for place, decision in enumerate(decisions):
        if decision.ahead is None:
            continue
        _, moment = met_at(f"{name}/{decision.id}", met)
        now = looking_ahead(
            met, decision, after(met, decision, right_answer(decision, met), moment)
        )
        later, asked = moment, {}
        for other in decisions[place:]:
            later = after(met, other, right_answer(other, met), later)
            if other.kind == "quantity":
                asked[other.sets] = other
            if acts(other):
                break
        for setting in decision.ahead.handling.settings():
            assumed = getattr(now.handling, setting)
            if setting in asked:
                unit = met.keys[asked[setting].id].unit
                got = credit(asked[setting], {"amount": assumed, "unit": unit}, met)
                assert got.credit == 1.0, (decision.id, setting)
            else:
                assert assumed == getattr(later.handling, setting), (decision.id, setting)


def test_every_decision_acts_or_looks_ahead_or_is_listed() -> None:
    decisions = {
        f"{name}/{decision.id}": decision
        for name in LESSON_IDS
        for decision in library().scenario(name).decisions
    }
    hidden = {key for key, one in decisions.items() if not acts(one) and one.ahead is None}
    assert hidden == JUDGED_ONLY.keys()
    assert not any(
        _settles(decisions[key]) for key in hidden if not isinstance(decisions[key], Order)
    )


def test_most_decisions_of_the_lessons_have_a_consequence_that_is_seen() -> None:
    total, seen = 0, []
    for name in LESSON_IDS:
        met = instance(name, SITES[0], 0)
        moment = opening(met)
        for decision in met.scenario.decisions:
            total += 1
            right = right_answer(decision, met)
            answers = [right, *wrong_answers(decision, met)]
            ends = [
                looking_ahead(met, decision, after(met, decision, value, moment))
                for value in answers
            ]
            if any(differ(met, moment, end) for end in ends):
                seen.append(f"{name}/{decision.id}")
            moment = after(met, decision, right, moment)
    print(f"a consequence is seen after {len(seen)} of {total} decisions")
    assert not JUDGED_ONLY.keys() & set(seen)
    assert len(seen) / total > 0.65


@pytest.mark.parametrize("name", LESSON_IDS)
def test_even_after_earlier_mistakes_the_right_answer_does_not_look_worse(name: str) -> None:
    """Else the two pictures would teach the opposite; looked at on the worst place."""
    for seed in SEEDS:
        dice = random.Random(seed)  # noqa: S311 - a play, not a secret
        met = instance(name, SITES[0], seed)
        moment = opening(met)
        for decision in met.scenario.decisions:
            wrong = wrong_answers(decision, met)
            right = after(met, decision, right_answer(decision, met), moment)
            best = worst_place(met, looking_ahead(met, decision, right))
            for value in wrong if decision.ahead is not None else []:
                led_to = looking_ahead(met, decision, after(met, decision, value, moment))
                assert best <= worst_place(met, led_to) * 1.05 + 0.5, (seed, decision.id, value)
            moment = after(met, decision, dice.choice(wrong), moment)


def worst_place(met: Instance, moment: Moment) -> float:
    places = met.instrument.places
    return max(moment.state.protein_ug(name) / place.area_cm2 for name, place in places.items())
