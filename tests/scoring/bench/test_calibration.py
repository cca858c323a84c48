"""Good work ends clean; each serious mistake alone does not."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from lessons.drawing import draw
from scoring.bench.handling import Handling
from scoring.bench.state import State
from scoring.bench.steps import run_step
from tests.scoring.bench.case import (
    INSTRUMENTS,
    WORK,
    handled,
    instrument,
    played,
    site,
    soiled,
    worst_protein,
)

LEFT_ON: dict[str, dict[str, Any]] = {
    "a disinfectant as cleaner (M06)": {"agent": "aldehyde"},
    "an oxidiser as cleaner (M06)": {"agent": "oxidiser"},
    "plain water (M08)": {"agent": "plain_water", "dose_ml": 0.0},
    "hand soap (M09)": {"agent": "hand_soap"},
    "no dose at all (M20)": {"dose_ml": 0.0},
    "half the dose (M20)": {"dose_ml": 25.0},
    "hot bath (M22)": {"temperature_c": 52.0},
    "a little too hot (M22)": {"temperature_c": 45.0},
    "cold bath (M23)": {"temperature_c": 12.0},
    "two minutes (M24)": {"minutes": 2.0},
    "a bath used six times (M26)": {"loads_before": 6.0},
    "piled tray (M28)": {"one_layer": False},
    "half out of the water (M30)": {"immersed": False},
    "soak alone, no brush (M31)": {"brush": "none"},
    "a worn brush (M42)": {"brush": "worn"},
    "a household brush (M42)": {"brush": "household"},
    "two strokes (M52)": {"strokes": 2.0},
    "a second chemical poured in (M10)": {"mixed": True},
    "a brush not cleaned the day before (M43)": {"brush_clean": False},
}
JOINT: dict[str, dict[str, Any]] = {
    "soaked and brushed closed (M27)": {"opened": False},
    "joint brushed from outside only (M47)": {"inner_joint": False},
}
LUMEN: dict[str, dict[str, Any]] = {
    "air in the lumen (M29)": {"lumen_filled": False},
    "flushed without a brush (M46)": {"brush_mm": 0.0},
    "neither brushed nor flushed": {"brush_mm": 0.0, "flush_ml": 0.0},
    "a brush much too thin (M44)": {"brush_mm": 2.5},
    "a brush a little too thin (M44)": {"brush_mm": 3.0},
    "a brush too thick (M44)": {"brush_mm": 5.5},
    "a brush that does not come through (M45)": {"brush_through": False},
}
LIMITS: dict[str, tuple[str, dict[str, Any]]] = {
    "twice the dose (M20)": ("residue_mg", {"dose_ml": 100.0}),
    "no rinse (M60)": ("residue_mg", {"rinses": 0.0, "last_water": "none"}),
    "one rinse (M60)": ("residue_mg", {"rinses": 1.0}),
    "three rinses in the same water (M61)": ("residue_mg", {"rinses": 3.0, "fresh_rinse": False}),
    "tap water last (M63)": ("ions_mg", {"last_water": "tap"}),
    "no last rinse (M63)": ("ions_mg", {"last_water": "none"}),
    "a trickle (M65)": ("residue_mg", {"rinse_way": "trickle"}),
    "a tank topped up for weeks (M64)": ("endotoxin_eu", {"last_water": "stale"}),
    "tap water last, its endotoxin (M63)": ("endotoxin_eu", {"last_water": "tap"}),
}


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_good_work_ends_clean(name: str) -> None:
    done = played(name, handled())
    assert worst_protein(name, done) < site().limits.protein_ug_per_cm2
    assert done.residue_mg < site().limits.residue_mg
    assert done.ions_mg < site().limits.ions_mg
    assert done.endotoxin_eu < site().limits.endotoxin_eu
    assert done.damage == 0


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_good_work_ends_clean_on_heavier_fresh_soil(name: str) -> None:
    done = played(name, handled(), soiled(name, fresh=900.0, dried=100.0))
    assert worst_protein(name, done) < site().limits.protein_ug_per_cm2


@pytest.mark.parametrize("name", INSTRUMENTS)
@pytest.mark.parametrize("mistake", LEFT_ON)
def test_each_mistake_leaves_soil(name: str, mistake: str) -> None:
    done = played(name, handled(**LEFT_ON[mistake]))
    assert worst_protein(name, done) > site().limits.protein_ug_per_cm2


@pytest.mark.parametrize("name", ["clamp", "needle_holder", "rongeur"])
@pytest.mark.parametrize("mistake", JOINT)
def test_each_mistake_at_the_joint_leaves_soil(name: str, mistake: str) -> None:
    done = played(name, handled(**JOINT[mistake]))
    assert worst_protein(name, done) > site().limits.protein_ug_per_cm2


@pytest.mark.parametrize("mistake", LUMEN)
def test_each_mistake_in_the_lumen_leaves_soil(mistake: str) -> None:
    done = played("suction_tube", handled(**LUMEN[mistake]))
    assert worst_protein("suction_tube", done) > site().limits.protein_ug_per_cm2


@pytest.mark.parametrize("name", INSTRUMENTS)
@pytest.mark.parametrize("mistake", LIMITS)
def test_each_mistake_in_dose_and_rinse_leaves_cleaner_or_salts(name: str, mistake: str) -> None:
    measure, change = LIMITS[mistake]
    done = played(name, handled(**change))
    assert getattr(done, measure) > getattr(site().limits, measure)


def test_fat_and_mineral_stay_in_the_cold() -> None:
    cold = played("clamp", handled(temperature_c=12.0))
    warm = played("clamp", handled())
    for kind, times in (("fat", 3.0), ("mineral", 1.5)):
        assert cold.soil["jaw_left"][kind] > times * warm.soil["jaw_left"][kind]


def test_soak_alone_never_reaches_clean() -> None:
    whole_day = played("clamp", handled(minutes=240.0), steps=("soak",))
    assert worst_protein("clamp", whole_day) > site().limits.protein_ug_per_cm2


def test_a_metal_brush_cleans_and_damages() -> None:
    done = played("clamp", handled(brush="metal"))
    assert worst_protein("clamp", done) < site().limits.protein_ug_per_cm2
    assert done.damage > 0.05


def test_a_night_in_the_bath_damages() -> None:
    assert played("clamp", handled(minutes=720.0), steps=("soak",)).damage > 0.2
    assert played("clamp", handled(), steps=("soak",)).damage == 0


def test_a_device_that_must_not_be_immersed_is_damaged() -> None:
    powered = instrument("clamp").model_copy(update={"immersible": False})
    drowned = run_step("soak", soiled("clamp"), handled(), powered, site())
    wiped = run_step("soak", soiled("clamp"), handled(immersed=False), powered, site())
    assert drowned.damage > 0.5
    assert wiped.damage == 0


@pytest.mark.parametrize("setting", ["eyes_covered", "mask_on", "gown_on", "gloves_thick"])
def test_each_piece_of_protective_equipment_lowers_exposure(setting: str) -> None:
    bare = played("clamp", handled(under_water=False))
    covered = played("clamp", handled(under_water=False, **{setting: True}))
    assert 0 < covered.exposure < bare.exposure
    assert covered.droplets == bare.droplets


def test_working_below_the_surface_throws_far_fewer_drops() -> None:
    above = played("suction_tube", handled(under_water=False))
    below = played("suction_tube", handled())
    far_end_up = played("suction_tube", handled(far_end_under=False))
    assert below.droplets < 0.1 * above.droplets
    assert below.droplets < far_end_up.droplets <= above.droplets


def test_what_a_protein_test_would_pass_although_it_is_wrong() -> None:
    # The README names these; C6 and C10 say that the protein test passes such lumens.
    for change in ({"brush_mm": 0.0, "flush_ml": 200.0}, {"flush_ml": 0.0}):
        done = played("suction_tube", handled(**change))
        assert worst_protein("suction_tube", done) < site().limits.protein_ug_per_cm2


OTHERWISE: dict[str, Any] = {
    "agent": "hand_soap", "dose_ml": 20.0, "bath_l": 20.0, "temperature_c": 20.0, "minutes": 3.0,
    "loads_before": 3.0, "opened": False, "one_layer": False, "immersed": False, "moist": True,
    "lumen_filled": False, "brush": "worn", "brush_mm": 3.0, "strokes": 3.0, "inner_joint": False,
    "under_water": False, "flush_ml": 10.0, "far_end_under": False, "rinses": 1.0, "rinse_l": 1.0,
    "fresh_rinse": False, "last_water": "tap", "light_lux": 1500.0, "magnification": 4.0,
    "eyes_covered": True, "gloves_thick": True, "gown_on": True, "mask_on": True, "mixed": True,
    "saline": True, "heavy_on_top": True, "brush_clean": False, "brush_through": False,
    "supported": False, "towards_body": True, "flush_kpa": 300.0, "manifold": True,
    "rinse_way": "running", "borescope": True, "lubricant": "oil", "dry_way": "air",
    "cloth": "dripping", "cloth_agent": "enzymatic_cleaner", "wipes": 3.0, "ports_closed": False,
    "machine": "washer",
}  # fmt: skip
WHOLE = ("dry", *WORK, "machine", "lubricate", "dry_off")
PLAYED: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("clamp", WHOLE), ("suction_tube", WHOLE), ("micro_forceps", WHOLE), ("cannula_set", WHOLE),
    ("powered_drill", ("wipe", "brush")),
)  # fmt: skip


@pytest.mark.parametrize("setting", [setting.name for setting in dataclasses.fields(Handling)])
def test_every_setting_changes_the_instrument_or_the_picture(setting: str) -> None:
    def outcome(handling: Handling) -> list[tuple[State, str]]:
        done = []
        for name, steps in PLAYED:
            state = played(name, handling, steps=steps)
            drawn = name in INSTRUMENTS
            svg = draw(instrument(name), state, handling, title="").svg if drawn else ""
            done.append((state, svg))
        return done

    changed = {setting: OTHERWISE[setting]}
    # Work that leaves something to see, so that light and lens have something to show.
    usual = handled(strokes=4.0, cloth="damp", wipes=5.0)
    assert outcome(usual.changed(**changed)) != outcome(usual)
