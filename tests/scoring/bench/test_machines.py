"""Machines: after the sink a help, instead of it a harm."""

from __future__ import annotations

from typing import Any

import pytest

from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from tests.scoring.bench.case import (
    WORK,
    handled,
    instrument,
    played,
    site,
    soiled,
    worst_protein,
)

LIMIT = site().limits.protein_ug_per_cm2


@pytest.mark.parametrize("name", ["clamp", "needle_holder", "rongeur", "suction_tube"])
@pytest.mark.parametrize("machine", ["ultrasonic", "washer"])
def test_a_machine_after_the_sink_leaves_less_and_straight_away_too_much(
    name: str, machine: Any
) -> None:
    # C4 (read): 33.3 % positive by hand, 23.3 % by machine, 3.3 % ultrasonic. T19, M16.
    by_hand = played(name, handled())
    both = played(name, handled(machine=machine), steps=(*WORK, "machine"))
    straight = played(name, handled(machine=machine), steps=("machine",))
    assert worst_protein(name, both) < worst_protein(name, by_hand) < LIMIT
    assert worst_protein(name, straight) > LIMIT


def test_a_washer_alone_takes_about_the_published_share_off_hinged_forceps() -> None:
    # de Melo Costa et al. 2022 (C5, read): 95.1 % by machine. Assumptions as for hand
    # cleaning: dried protein, 37 % of it in the joint, opened.
    soil = {place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument("rongeur").places}
    soil["joint_front"]["dried"] = 370.0
    soil["cup_left"]["dried"] = 630.0
    done = played("rongeur", handled(machine="washer"), State(soil=soil), steps=("machine",))
    left = sum(done.protein_ug(place) for place in soil)
    assert 100 * (1 - left / 1000.0) == pytest.approx(95.1, abs=2.5)


def test_the_hot_phase_fixes_what_the_spray_did_not_reach() -> None:
    closed = played("clamp", handled(machine="washer", opened=False), steps=("machine",))
    assert closed.soil["box_lock"]["fixed"] > 0.5 * closed.protein_ug("box_lock")
    sound = played("clamp", handled(machine="ultrasonic", opened=False), steps=("machine",))
    assert sound.soil["box_lock"]["fixed"] == 0


@pytest.mark.parametrize("machine", ["ultrasonic", "washer"])
def test_closed_joints_and_lumens_full_of_air_are_not_reached(machine: Any) -> None:
    opened, closed = (
        played("clamp", handled(machine=machine, opened=way), steps=("machine",))
        for way in (True, False)
    )
    assert closed.protein_ug("box_lock") > 5 * opened.protein_ug("box_lock")
    air = played("suction_tube", handled(machine=machine, lumen_filled=False), steps=("machine",))
    assert air.protein_ug("lumen") > 0.3 * soiled("suction_tube").protein_ug("lumen")


def test_a_delicate_or_powered_device_is_harmed() -> None:
    sound = handled(machine="ultrasonic")
    assert played("clamp", sound, steps=("machine",)).damage == 0
    assert played("micro_forceps", sound, steps=("machine",)).damage > 0.2
    for machine in ("ultrasonic", "washer"):
        drowned = played("powered_drill", handled(machine=machine), steps=("machine",))
        assert drowned.damage > 0.7


def test_a_washer_ends_in_treated_water_and_leaves_lumens_wet() -> None:
    # A washer takes water-soluble lubricant off, and rinses by itself.
    start = soiled("suction_tube").changed(lubricated=1.0, residue_mg=10.0)
    tube = instrument("suction_tube")
    washed = run_step("machine", start, handled(machine="washer"), tube, site())
    assert washed.endotoxin_eu < site().limits.endotoxin_eu
    assert washed.lubricated == 0
    assert washed.residue_mg < site().limits.residue_mg
    assert 2.0 < washed.water_ml < tube.carried_ml
    heard = run_step("machine", start, handled(machine="ultrasonic"), tube, site())
    assert heard.endotoxin_eu > site().limits.endotoxin_eu
    assert heard.residue_mg == 10.0
