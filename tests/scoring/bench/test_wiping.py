"""Wiping: clean by cloth and brush, and what each slip does to a powered device."""

from __future__ import annotations

from typing import Any

import pytest

from scoring.bench import wiping
from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.bench.wetness import lumen_ml
from tests.scoring.bench.case import ROOT, instrument, site, soiled, total

DRILL = instrument("powered_drill")
SITES = sorted(path.stem for path in (ROOT / "lessons" / "sites").glob("*.yaml"))


def wiped(name: str = "invented-three-bays", water_wipes: float = 10.0, **changes: Any) -> State:
    """Play a drill: wiped with cleaner, brushed, wiped with water, in the department `name`."""
    usual: dict[str, Any] = {
        "immersed": False, "under_water": False, "cloth": "damp", "wipes": 12.0,
        "cloth_agent": site(name).cleaner.agent, "brush": "soft_nylon", "strokes": 12.0,
    }  # fmt: skip
    handling = Handling(**{**usual, **changes})
    state = soiled("powered_drill", fat=60.0)
    for step in ("wipe", "brush"):
        state = run_step(step, state, handling, DRILL, site(name))
    second = handling.changed(cloth_agent="plain_water", wipes=water_wipes)
    return run_step("wipe", state, second, DRILL, site(name))


def worst(state: State) -> float:
    """Protein on the worst place, ug/cm2."""
    return max(
        float(state.protein_ug(name)) / place.area_cm2 for name, place in DRILL.places.items()
    )


@pytest.mark.parametrize("name", SITES)
def test_good_work_ends_within_every_limit_in_every_department(name: str) -> None:
    done, limits = wiped(name), site(name).limits
    assert worst(done) < limits.protein_ug_per_cm2
    assert done.residue_mg < limits.residue_mg
    assert done.ions_mg < limits.ions_mg
    assert done.endotoxin_eu < limits.endotoxin_eu
    assert (done.inside_ml, done.damage) == (0.0, 0.0)


@pytest.mark.parametrize(
    "change",
    [
        {"brush": "none"},
        {"cloth": "dry"},
        {"cloth_agent": "plain_water"},
        {"cloth_agent": "aldehyde"},
        {"wipes": 2.0, "strokes": 6.0},
    ],
)
def test_each_slip_with_the_cloth_leaves_soil(change: dict[str, Any]) -> None:
    assert worst(wiped(**change)) > site().limits.protein_ug_per_cm2


def test_without_the_second_wiping_the_cleaner_stays() -> None:
    assert wiped(water_wipes=0.0).residue_mg > site().limits.residue_mg


def test_a_disinfectant_on_the_cloth_fixes_protein() -> None:
    fixed = wiped(cloth_agent="aldehyde").soil["trigger"]["fixed"]
    assert fixed > 10 * wiped().soil["trigger"]["fixed"] + 1.0


@pytest.mark.parametrize("change", [{"cloth": "dripping"}, {"ports_closed": False}])
def test_a_dripping_cloth_or_an_open_port_lets_water_in(change: dict[str, Any]) -> None:
    done, both = wiped(**change), wiped(cloth="dripping", ports_closed=False)
    assert 0 < done.inside_ml < both.inside_ml
    assert 0.1 < done.damage < both.damage <= 0.8


@pytest.mark.parametrize(("step", "ml"), [("soak", 20.0), ("rinse", 20.0)])
def test_immersing_or_rinsing_under_water_drowns_it(step: str, ml: float) -> None:
    handling = Handling(minutes=5.0, rinses=2.0)
    done = run_step(step, soiled("powered_drill"), handling, DRILL, site())
    assert done.inside_ml == pytest.approx(ml)
    assert done.damage > 0.7
    again = run_step(step, done, handling, DRILL, site())
    assert again.damage == pytest.approx(done.damage)


def test_held_under_the_tap_it_stays_dry_inside_only_with_its_ports_closed() -> None:
    held = Handling(rinses=1.0, immersed=False)
    start = soiled("powered_drill")
    assert run_step("rinse", start, held, DRILL, site()).inside_ml == 0
    wet = run_step("rinse", start, held.changed(ports_closed=False), DRILL, site())
    assert wet.inside_ml > 0
    assert wet.damage > 0.2


def test_a_cloth_reaches_no_lumen_and_no_joint() -> None:
    handling = Handling(cloth="damp", cloth_agent="enzymatic_cleaner", wipes=50.0, opened=True)
    for name, place in (("suction_tube", "lumen"), ("clamp", "box_lock")):
        before = soiled(name)
        after = run_step("wipe", before, handling, instrument(name), site())
        assert after.soil[place] == before.soil[place]
        assert total(after) < total(before)


def test_a_dry_cloth_takes_only_a_little_of_what_is_wet() -> None:
    soil = dict.fromkeys(SOIL_KINDS, 100.0)
    handling = Handling(cloth="dry", wipes=10.0)
    left = wiping.wiped_soil("flat", soil, handling, SCALAR)
    assert 60 < left["fresh"] < 90
    assert {kind: left[kind] for kind in SOIL_KINDS if kind != "fresh"} == {
        kind: 100.0 for kind in SOIL_KINDS if kind != "fresh"
    }


@pytest.mark.parametrize(("water", "times"), [("tap", 5.0), ("stale", 100.0)])
def test_the_water_of_the_cloth_is_found_on_the_device(water: Any, times: float) -> None:
    assert wiped(last_water=water).endotoxin_eu > times * wiped(last_water="treated").endotoxin_eu
    assert wiped(last_water="none").endotoxin_eu == wiped(last_water="treated").endotoxin_eu


@pytest.mark.parametrize("agent", ["aldehyde", "oxidiser"])
def test_fixing_by_a_cloth_is_the_solution_of_its_equations(agent: Any) -> None:
    # Many small steps of dS = -(k + f) S, dX = f S - x X: soft soil that was fixed has left.
    wipes, cuts = 8.0, 20_000
    handling = Handling(cloth="damp", cloth_agent=agent, wipes=wipes)
    before = dict.fromkeys(SOIL_KINDS, 0.0) | {"fresh": 100.0, "dried": 200.0, "fixed": 50.0}
    found = wiping.wiped_soil("flat", before, handling, SCALAR)
    soil, fix, dt = dict(before), wiping.FIXING[agent].value, wipes / cuts
    for _ in range(cuts):
        fixed = {kind: fix * soil[kind] * dt for kind in ("fresh", "dried")}
        off = {kind: wiping.WATER[kind].value * soil[kind] * dt for kind in SOIL_KINDS}
        soil = {kind: soil[kind] - off[kind] - fixed.get(kind, 0.0) for kind in SOIL_KINDS}
        soil["fixed"] += sum(fixed.values())
    for kind in SOIL_KINDS:
        assert found[kind] == pytest.approx(soil[kind], rel=1e-3, abs=1e-9)


def test_a_cloth_leaves_the_water_that_stands_in_a_lumen() -> None:
    tube = instrument("suction_tube")
    wet = soiled("suction_tube").changed(water_ml=tube.carried_ml)
    handling = Handling(cloth="damp", wipes=50.0)
    after = run_step("wipe", wet, handling, tube, site())
    outside = sum(place.area_cm2 for place in tube.places.values() if place.kind != "lumen")
    film = wiping.FILM["damp"].value * outside
    assert after.water_ml == pytest.approx(film + lumen_ml(tube), rel=1e-6)
