"""The rest of the work by the book: clean after good decisions, and no mistake mended."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.finishing import by_the_book, finish, left_to_do, over_limits
from scoring.instance import Instance
from scoring.instrument import Instrument
from scoring.play import after
from tests.lessons.players import SITES, instance, library, play, right_answers, worst_answer
from tests.lessons.players import site as site_of

SCENARIOS = library().scenario_ids()
INSTRUMENTS = sorted({library().scenario(name).instrument for name in SCENARIOS})
SINK = ("soak", "brush", "flush", "rinse", "dry_off", "lubricate")


def soiled(device: Instrument, per_cm2: float) -> State:
    return State(
        soil={
            name: dict.fromkeys(SOIL_KINDS, 0.0) | {"fresh": per_cm2 * place.area_cm2}
            for name, place in device.places.items()
        }
    )


def fixed_from_the_start(met: Instance) -> bool:
    """Whether an aldehyde, heat or a long wait had fixed more than the limit beforehand."""
    limit = met.site.limits.protein_ug_per_cm2
    places = met.instrument.places.items()
    return any(met.state.soil[name]["fixed"] / place.area_cm2 > limit for name, place in places)


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", SCENARIOS)
def test_good_decisions_finished_by_the_book_end_clean(name: str, path: Path) -> None:
    for seed in (0, 5):
        met = instance(name, path, seed)
        end = finish(met, play(met, right_answers(met))[-1])
        found = over_limits(met, end)
        if fixed_from_the_start(met):
            assert set(found) <= {"protein"}, seed
        else:
            assert found == {}, seed


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_what_was_fixed_from_the_start_stays_and_nothing_else(path: Path) -> None:
    # No friction and no cleaner at the sink takes it all off (B14): it goes round again (T16)
    # and is set aside if that does not help. All other soil must be gone, and a round must help.
    limit = site_of(path).limits.protein_ug_per_cm2
    for name in SCENARIOS:
        met = instance(name, path, 0)
        if not fixed_from_the_start(met):
            continue
        end = finish(met, play(met, right_answers(met))[-1])
        again = end.state
        for task in by_the_book(met.instrument, met.site, end.handling.bath_l):
            again = run_step(task.step, again, task.handling, met.instrument, met.site)
        for place, shape in met.instrument.places.items():
            soft = end.state.soil[place]["fresh"] + end.state.soil[place]["dried"]
            assert soft / shape.area_cm2 <= limit, (name, place)
            assert again.protein_ug(place) <= end.state.protein_ug(place), (name, place)
        assert sum(map(again.protein_ug, again.soil)) < 0.8 * sum(
            map(end.state.protein_ug, end.state.soil)
        ), name


def test_some_scenarios_start_with_fixed_soil_and_most_do_not() -> None:
    fixed = [name for name in SCENARIOS if fixed_from_the_start(instance(name, SITES[0], 0))]
    assert 0 < len(fixed) < 0.25 * len(SCENARIOS)


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_bad_decisions_are_not_mended_everywhere(path: Path) -> None:
    still = []
    for name in SCENARIOS:
        met = instance(name, path, 1)
        answers = {one.id: worst_answer(one, met) for one in met.scenario.decisions}
        if over_limits(met, finish(met, play(met, answers)[-1])):
            still.append(name)
    assert len(still) > len(SCENARIOS) / 3


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("device", INSTRUMENTS)
def test_the_whole_work_by_the_book_cleans_every_instrument(device: str, path: Path) -> None:
    thing, values = library().instrument(device), site_of(path)
    state = soiled(thing, 30.0)
    tasks = by_the_book(thing, values, 10.0)
    for task in tasks:
        state = run_step(task.step, state, task.handling, thing, values)
    limits = values.limits
    for place, shape in thing.places.items():
        assert state.protein_ug(place) / shape.area_cm2 <= limits.protein_ug_per_cm2, place
    assert state.residue_mg <= limits.residue_mg
    assert state.ions_mg <= limits.ions_mg
    assert state.endotoxin_eu <= limits.endotoxin_eu
    assert state.damage == state.oil_mg == state.inside_ml == 0.0
    widths = {task.handling.brush_mm for task in tasks if task.step == "brush"}
    bores = {place.bore_mm for place in thing.places.values() if place.bore_mm is not None}
    assert widths - {0.0} == bores
    steps = {task.step for task in tasks}
    assert ("soak" in steps) == ("rinse" in steps) == thing.immersible
    assert ("wipe" in steps) == (not thing.immersible)
    assert ("lubricate" in steps) == any(one.kind == "joint" for one in thing.places.values())


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_is_left_to_do_is_an_end_of_the_work(name: str) -> None:
    met = instance(name, SITES[0], 1)
    left = left_to_do(met)
    whole = SINK if met.instrument.immersible else ("wipe", "brush", "wipe_water", *SINK[-2:])
    assert left == whole[len(whole) - len(left) :]
    if met.scenario.station == "ready":
        assert left == whole


@pytest.mark.parametrize("name", SCENARIOS)
def test_from_any_moment_of_good_work_it_ends_where_good_work_ends(name: str) -> None:
    met = instance(name, SITES[-1], 2)
    moments = play(met, right_answers(met))
    whole = finish(met, moments[-1])
    for decided, moment in enumerate(moments):
        assert finish(met, moment, decided) == whole, decided


@pytest.mark.parametrize("name", SCENARIOS)
def test_one_slip_never_ends_better_than_no_slip(name: str) -> None:
    met = instance(name, SITES[0], 3)
    moments = play(met, right_answers(met))
    good = over_limits(met, finish(met, moments[-1]))
    for at, decision in enumerate(met.scenario.decisions):
        slip = after(met, decision, worst_answer(decision, met), moments[at])
        found = over_limits(met, finish(met, slip, at + 1))
        better = set(good) - set(found)
        # Too long in a bath can take off what was fixed beforehand, and does other harm.
        assert not better or (fixed_from_the_start(met) and better == {"protein"} and found), (
            decision.id
        )


def test_nothing_left_to_do_changes_nothing() -> None:
    over = [name for name in SCENARIOS if left_to_do(instance(name, SITES[0], 1)) == ()]
    assert over
    for name in over:
        met = instance(name, SITES[0], 1)
        moment = play(met, right_answers(met))[-1]
        assert finish(met, moment) is moment


def test_what_is_wrong_is_named() -> None:
    met = instance("rinse-needle-holder-bays", SITES[0], 1)
    end = finish(met, play(met, right_answers(met))[-1])
    dirty = {**end.state.soil, "ratchet": {**end.state.soil["ratchet"], "bone": 900.0}}
    bad = end.state.changed(
        soil=dirty, residue_mg=50.0, ions_mg=9.0, endotoxin_eu=999.0, damage=0.5, oil_mg=15.0,
        inside_ml=1.0,
    )  # fmt: skip
    moment = type(end)(end.handling, bad)
    assert set(over_limits(met, moment)) == {
        "bone", "residue_mg", "ions_mg", "endotoxin_eu", "damage", "oil_mg", "inside_ml",
    }  # fmt: skip


def test_finishing_loads_nothing_heavy() -> None:
    code = (
        "import sys, scoring.finishing; "
        "heavy = {'numpy', 'pandas', 'scipy', 'matplotlib', 'sqlalchemy'} & set(sys.modules); "
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_what_must_not_go_into_the_water_is_brushed_above_it_by_the_book() -> None:
    for name in INSTRUMENTS:
        device = library().instrument(name)
        for task in by_the_book(device, site_of(SITES[0]), 10.0):
            assert task.handling.under_water == task.handling.immersed == device.immersible
