"""Every scenario to its end, in every department, by three people: perfect, random and worst.

The perfect one earns everything, and with the rest of the work done by the book the instrument
ends within every limit of the site. The worst one fails a critical decision. The random one shows
that nothing in between breaks: marks within bounds and the same when marked again.
"""

from __future__ import annotations

import random
from typing import Any

import pytest

from scoring.finishing import finish
from scoring.instance import Instance, soiled_places
from scoring.marking.credit import check_answer, credit
from scoring.play import Moment, replay
from scoring.scenario import Decision
from tests.lessons.players import (
    SITES,
    instance,
    library,
    right_answers,
    worst_answer,
)

ALL_IDS = library().scenario_ids()
RANDOM_PLAYS = 4


def fixed_before(met: Instance) -> set[str]:
    """Places whose protein was fixed before the first decision: no work at the sink mends that.

    There the right end is another round, or to set the instrument aside.
    """
    limit = met.site.limits.protein_ug_per_cm2
    return {
        name
        for name, place in met.instrument.places.items()
        if met.state.soil[name]["fixed"] / place.area_cm2 > limit
    }


def within_limits(met: Instance, end: Moment) -> list[str]:
    """Name everything that is beyond a limit; damage, oil and water inside have the limit 0."""
    limits, state = met.site.limits, end.state
    soiled = soiled_places(state, met.instrument, met.site) - fixed_before(met)
    over = [f"soil on {place}" for place in sorted(soiled)]
    amounts = {
        "residue": state.residue_mg - limits.residue_mg,
        "ions": state.ions_mg - limits.ions_mg,
        "endotoxin": state.endotoxin_eu - limits.endotoxin_eu,
        "damage": state.damage,
        "oil": state.oil_mg,
        "water inside": state.inside_ml,
    }
    return over + [f"{name} {value:g}" for name, value in amounts.items() if value > 1e-9]


def random_answer(decision: Decision, met: Instance, dice: random.Random) -> Any:
    """Any answer that a page could send for this decision and that the kernel takes."""
    if decision.kind == "choose_one":
        return dice.choice([option.id for option in decision.options])
    if decision.kind == "choose_several":
        ids = [tick.id for tick in decision.ticks]
        return tuple(dice.sample(ids, dice.randint(1, len(ids))))
    if decision.kind == "order":
        ids = [item.id for item in decision.items]
        return tuple(dice.sample(ids, len(ids)))
    if decision.kind == "quantity":
        # Counted things come whole; an amount that no sink can hold is refused, and asked again.
        while True:
            value = {"amount": float(dice.randint(1, 60)), "unit": dice.choice(decision.units)}
            if check_answer(decision, value, met) is None:
                return value
    places = sorted(met.instrument.places)
    return tuple(dice.sample(places, dice.randint(1, len(places))))


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_the_perfect_player_gets_everything_and_a_clean_instrument(name: str, path: Any) -> None:
    for seed in (0, 7):
        met = instance(name, path, seed)
        answers = right_answers(met)
        for decision in met.scenario.decisions:
            assert credit(decision, answers[decision.id], met).credit == 1.0
        ordered = [answers[decision.id] for decision in met.scenario.decisions]
        end = finish(met, replay(met, ordered)[-1])
        assert within_limits(met, end) == []


def test_soil_fixed_before_is_the_exception() -> None:
    fixed = {name for name in ALL_IDS if fixed_before(instance(name, SITES[0], 0))}
    print("fixed before the first decision:", ", ".join(sorted(fixed)))
    assert len(fixed) <= 5


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_the_worst_player_fails_a_critical_decision(name: str, path: Any) -> None:
    met = instance(name, path, 3)
    answers = [worst_answer(decision, met) for decision in met.scenario.decisions]
    given = [
        credit(decision, value, met)
        for decision, value in zip(met.scenario.decisions, answers, strict=True)
    ]
    replay(met, answers)
    critical = [decision.critical for decision in met.scenario.decisions]
    assert 1 <= sum(critical) <= 2
    assert any(one and got.unsafe for one, got in zip(critical, given, strict=True)), [
        got.reason for got in given
    ]


@pytest.mark.parametrize("name", ALL_IDS)
def test_the_random_player_breaks_nothing(name: str) -> None:
    for number in range(RANDOM_PLAYS):
        dice = random.Random(number)  # noqa: S311 - a play, not a secret
        met = instance(name, SITES[number % len(SITES)], number)
        answers = [random_answer(decision, met, dice) for decision in met.scenario.decisions]
        for decision, value in zip(met.scenario.decisions, answers, strict=True):
            assert check_answer(decision, value, met) is None, (decision.id, value)
            got = credit(decision, value, met)
            assert 0.0 <= got.credit <= 1.0
            assert credit(decision, value, met) == got
        end = finish(met, replay(met, answers)[-1]).state
        for amounts in end.soil.values():
            assert all(amount >= 0.0 for amount in amounts.values())
        assert min(end.residue_mg, end.ions_mg, end.water_ml, end.droplets) >= 0.0
        assert 0.0 <= end.damage <= 1.0
