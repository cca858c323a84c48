"""Wearing: salt, weight, force, pressure, and water inside."""

from __future__ import annotations

from typing import Any

import pytest

from scoring.bench.handling import Handling
from scoring.bench.steps import run_step
from tests.scoring.bench.case import handled, instrument, played, site, soiled


@pytest.mark.parametrize(
    ("step", "change"),
    [
        ("soak", {"heavy_on_top": True}),
        ("brush", {"supported": False}),
        ("brush", {"brush": "metal"}),
        ("brush", {"brush": "household"}),
    ],
)
def test_delicate_instruments_bend_where_others_do_not(step: str, change: dict[str, Any]) -> None:
    delicate = played("micro_forceps", handled(**change), steps=(step,)).damage
    robust = played("clamp", handled(**change), steps=(step,)).damage
    assert delicate > robust + 0.1
    assert played("micro_forceps", handled(), steps=(step,)).damage == 0


def test_a_tip_is_bent_once() -> None:
    heavy = handled(heavy_on_top=True)
    once = played("micro_forceps", heavy, steps=("soak",))
    assert played("micro_forceps", heavy, steps=("soak", "soak", "soak")).damage == once.damage


@pytest.mark.parametrize("name", ["suction_tube", "flexible_tube"])
def test_pressure_above_the_limit_of_the_lumen_harms(name: str) -> None:
    limit = min(
        place.pressure_max_kpa
        for place in instrument(name).places.values()
        if place.pressure_max_kpa is not None
    )
    damages = [
        played(name, handled(flush_kpa=limit * times), steps=("flush",)).damage
        for times in (0.5, 1.0, 1.5, 3.0)
    ]
    assert damages[:2] == [0.0, 0.0]
    assert 0.1 < damages[2] < damages[3] <= 1
    assert played(name, handled(flush_kpa=3 * limit, flush_ml=0.0), steps=("flush",)).damage == 0


def test_saline_keeps_moist_but_pits_and_leaves_salt() -> None:
    water = played("clamp", handled(minutes=120.0, moist=True), steps=("dry",))
    saline = played("clamp", handled(minutes=120.0, saline=True), steps=("dry",))
    assert saline.soil == water.soil
    assert water.damage == water.ions_mg == 0
    assert saline.damage > 0.05
    assert saline.ions_mg == pytest.approx(6.0 * 9.0)
    night = played("clamp", handled(minutes=720.0, saline=True), steps=("dry",))
    assert night.damage > 0.3


def test_water_inside_harms_alike_in_one_portion_or_in_many() -> None:
    drill = instrument("powered_drill")
    handling = Handling(cloth="dripping", wipes=20.0)
    whole = run_step("wipe", soiled("powered_drill"), handling, drill, site())
    state = soiled("powered_drill")
    for _ in range(10):
        state = run_step("wipe", state, handling.changed(wipes=2.0), drill, site())
    assert state.inside_ml == pytest.approx(whole.inside_ml)
    assert state.damage == pytest.approx(whole.damage)
    clamp = run_step("wipe", soiled("clamp"), handling, instrument("clamp"), site())
    assert (clamp.inside_ml, clamp.damage) == (0.0, 0.0)
