"""Rinsing: running water, a trickle, and what each water leaves."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench import rinsing
from scoring.bench.handling import RinseWay
from scoring.bench.operations import SCALAR
from tests.scoring.bench.case import ROOT, handled, instrument, played, site

PHYSICS = json.loads(
    (Path(__file__).resolve().parents[2] / "data" / "bench_physics.json").read_text("utf-8")
)
SITES = sorted(path.stem for path in (ROOT / "lessons" / "sites").glob("*.yaml"))


@pytest.mark.parametrize("case", PHYSICS["rinse"]["overflow"])
def test_overflow_matches_the_worked_cases(case: dict[str, float]) -> None:
    # Kushner's rinse equations, remembered; figures computed. See the file for the status.
    assert rinsing.overflow(case["turnovers"], SCALAR) == pytest.approx(case["residual"], rel=1e-12)


def test_running_water_is_the_overflow_of_what_was_carried_into_the_basin() -> None:
    # The first basin full dilutes as a fill; the three that follow run over.
    handling = handled(rinse_way="running", rinse_l=4 * rinsing.BASIN.value)
    in_basin = 6.0 / (6.0 + 1000.0 * rinsing.BASIN.value)
    left = rinsing.tap_rinse(6.0, 0.0, handling, SCALAR)
    assert left == pytest.approx(in_basin * PHYSICS["rinse"]["overflow"][4]["residual"], rel=1e-9)


@given(st.floats(0.5, 40.0), st.floats(0.0, 0.6), st.floats(0.5, 40.0))
def test_no_running_water_counts_twice(litres: float, held: float, more: float) -> None:
    def left(way: RinseWay, rinse_l: float) -> float:
        handling = handled(rinse_way=way, rinse_l=rinse_l)
        return float(rinsing.tap_rinse(6.0, held, handling, SCALAR))

    running, still = left("running", litres), left("fill", litres)
    assert left("running", litres + more) <= running * (1 + 1e-12)
    assert running <= still * (1 + 1e-12)
    if litres <= rinsing.BASIN.value:  # nothing runs over yet
        assert running == pytest.approx(still, rel=1e-12)


@pytest.mark.parametrize("name", ["clamp", "rongeur", "suction_tube"])
def test_a_trickle_leaves_cleaner_and_does_not_reach_hidden_places(name: str) -> None:
    full = played(name, handled())
    trickle = played(name, handled(rinse_way="trickle"))
    running = played(name, handled(rinse_way="running"))
    limit = site().limits.residue_mg
    assert running.residue_mg <= full.residue_mg < limit < trickle.residue_mg
    for place, shape in instrument(name).places.items():
        if shape.kind != "flat":
            assert trickle.soil[place]["fresh"] > full.soil[place]["fresh"]


def test_running_water_need_not_be_changed() -> None:
    changed = played("clamp", handled(rinse_way="running"))
    same = played("clamp", handled(rinse_way="running", fresh_rinse=False))
    assert same == changed


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize(
    ("water", "salts_ok", "endotoxin_ok"),
    [("treated", True, True), ("tap", False, False), ("stale", True, False)],
)
def test_the_last_water_decides_on_salts_and_endotoxin(
    name: str, water: Any, salts_ok: bool, endotoxin_ok: bool
) -> None:
    # M63, M64: in every department, whatever its tap water.
    department = site(name)
    carried = instrument("clamp").carried_ml
    tap_salts = rinsing.salts_mg(carried, department.rinse.tap_salts_mg_per_l)
    last = rinsing.last_rinse(handled(last_water=water), SCALAR)
    series = rinsing.series(
        carried, rinsing.HELD_SALTS.value, 2.0, last,
        handled(last_water=water, rinse_l=department.rinse.litres), instrument("clamp"), SCALAR,
    )  # fmt: skip
    pure_salts = rinsing.salts_mg(carried, department.rinse.treated_salts_mg_per_l)
    salts = series.towards(tap_salts, tap_salts, pure_salts)
    assert (salts < department.limits.ions_mg) == salts_ok
    tap = carried * department.rinse.tap_endotoxin_eu_per_ml
    pure = department.rinse.treated_endotoxin_eu_per_ml
    pure = carried * (rinsing.STALE.value if last.stale else pure)
    endotoxin = series.towards(tap, tap, pure)
    assert (endotoxin < department.limits.endotoxin_eu) == endotoxin_ok


@pytest.mark.parametrize("water", ["treated", "tap", "stale", "none"])
def test_the_step_leaves_endotoxin_by_the_same_series(water: Any) -> None:
    done = played("clamp", handled(last_water=water))
    ok = done.endotoxin_eu < site().limits.endotoxin_eu
    assert ok == (water == "treated")


def test_treated_first_and_tap_last_leaves_the_tap() -> None:
    # M84
    first = played("clamp", handled(rinses=0.0, last_water="treated"))
    wrong = played("clamp", handled(rinses=0.0, last_water="tap"), first, steps=("rinse",))
    right = played("clamp", handled())
    assert wrong.ions_mg > site().limits.ions_mg > right.ions_mg


def test_a_lumen_not_rinsed_through_keeps_all_three() -> None:
    # M62: the tube lies level in the rinse, with air inside.
    before = played("suction_tube", handled(), steps=("soak", "brush", "flush"))
    done = played("suction_tube", handled(lumen_filled=False), before, steps=("rinse",))
    limits = site().limits
    assert done.residue_mg > limits.residue_mg
    assert done.endotoxin_eu > limits.endotoxin_eu


def test_a_trickle_is_never_better_than_a_fill() -> None:
    for held in (0.0, 0.2, 0.59, 0.8):
        trickle, fill = (
            rinsing.tap_rinse(6.0, held, handled(rinse_way=way), SCALAR)
            for way in ("trickle", "fill")
        )
        assert trickle == max(fill, rinsing.TRICKLE.value)


@given(st.floats(0, 5000), st.floats(1, 20))
def test_no_dose_leaves_more_cleaner_than_the_liquid_can_hold(dose: float, bath_l: float) -> None:
    """The film that is carried out is at most concentrate through and through."""
    handling = handled(agent="enzymatic_cleaner", dose_ml=dose, bath_l=bath_l)
    carried_ml = instrument("clamp").carried_ml
    left = rinsing.cleaner_carried(carried_ml, handling, site(), SCALAR)
    assert 0.0 <= left <= carried_ml * rinsing.DENSITY.value
