"""The bench against the figures it is anchored on.

Published figures stand beside their source and its status. Where the bench was
fitted to a figure, agreement shows only that it was done right.
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from scoring.bench import lumen
from scoring.bench.inspecting import chance_of_seeing
from scoring.bench.operations import SCALAR
from scoring.bench.rinsing import dilution, fills_that_dilute
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.bench.temperature import ACTIVATION, REFERENCE, arrhenius_ratio
from tests.scoring.bench.case import handled, instrument, played, site, total

PHYSICS = json.loads(
    (Path(__file__).resolve().parents[2] / "data" / "bench_physics.json").read_text("utf-8")
)

# 'Application of enzyme in instrument cleaning', catalogue abstract (B4, B4n: read).
MINUTES = (10, 20, 30, 45, 60)
ENZYMATIC_UG = (947, 864, 812, 691, 620)
NOT_ENZYMATIC_UG = (1069, 1069, 1067, 1059, 1042)


def coupon(ug: float) -> State:
    """Put protein on one flat place, as on a coupon."""
    empty = {place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument("clamp").places}
    empty["shank_left"]["dried"] = ug
    return State(soil=empty)


def left(agent: str, start: float, minutes: float) -> float:
    handling = handled(agent=agent, temperature_c=REFERENCE.value, minutes=minutes)
    done = run_step("soak", coupon(start), handling, instrument("clamp"), site())
    return float(done.protein_ug("shank_left"))


@pytest.mark.parametrize(("minutes", "ug"), list(zip(MINUTES, ENZYMATIC_UG, strict=True)))
def test_enzymatic_soak_follows_the_published_curve(minutes: int, ug: int) -> None:
    # B5 (calculated): the fit starts at about 1033 ug. The points scatter by 2.1 % about it.
    assert left("enzymatic_cleaner", 1033.0, minutes) == pytest.approx(ug, rel=0.03)


@pytest.mark.parametrize(("minutes", "ug"), list(zip(MINUTES, NOT_ENZYMATIC_UG, strict=True)))
def test_soak_without_enzyme_follows_the_published_curve(minutes: int, ug: int) -> None:
    # The start is not given; 1080 ug makes the first-order fit pass through the middle point.
    assert left("neutral_detergent", 1080.0, minutes) == pytest.approx(ug, rel=0.03)


def test_removal_from_hinged_forceps_with_and_without_the_inner_hinge() -> None:
    # de Melo Costa et al. 2022 (C5, read): 82.3 % by two manual cleanings, 93.8 % with
    # brushing of the inner hinge. Assumptions of the bench: 14 strokes, dried protein,
    # 37 % of it in the joint, the rest where a brush reaches as well as in an open joint.
    joint = 0.37
    soil = {place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument("rongeur").places}
    soil["joint_front"]["dried"] = 1000.0 * joint
    soil["cup_left"]["dried"] = 1000.0 * (1 - joint)
    for inner, published in ((False, 82.3), (True, 93.8)):
        handling = handled(strokes=14.0, inner_joint=inner)
        done = played("rongeur", handling, State(soil=soil), steps=("brush",))
        assert 100 * (1 - total(done) / 1000.0) == pytest.approx(published, abs=1.0)


def test_channel_flush_and_full_cleaning_in_order_of_magnitude() -> None:
    # Alfa & Olson 2016, Table 3 (C6, read): 335.4 uncleaned, 3.99 after a 50 mL flush without
    # brush, 0.23 ug/cm2 after full cleaning. The channel's bore is an assumption of the bench.
    channel = (
        instrument("suction_tube").places["lumen"].model_copy(update={"bore_mm": lumen.BORE.value})
    )
    tube = instrument("suction_tube").model_copy(
        update={"places": {**instrument("suction_tube").places, "lumen": channel}}
    )
    soil = {place: dict.fromkeys(SOIL_KINDS, 0.0) for place in tube.places}
    soil["lumen"]["fresh"] = 335.4 * channel.area_cm2
    handling = handled(flush_ml=50.0, strokes=6.0, brush_mm=lumen.BORE.value)
    flushed = run_step("flush", State(soil=soil), handling, tube, site())
    whole = run_step("brush", flushed, handling, tube, site())
    assert flushed.protein_ug("lumen") / channel.area_cm2 == pytest.approx(3.99, rel=0.05)
    assert whole.protein_ug("lumen") / channel.area_cm2 == pytest.approx(0.23, rel=0.10)


def test_unaided_eye_sees_about_what_was_published() -> None:
    # DesCoteaux et al. 1995 (E4, read): unaided-eye sensitivity at most about 11 %.
    assert chance_of_seeing(5.0, 300.0, 1.0) == pytest.approx(0.11, abs=1e-12)
    assert chance_of_seeing(5.0, 1000.0, 4.0) > 0.5


@pytest.mark.parametrize("case", PHYSICS["rinse"]["serial"])
def test_serial_dilution_matches_the_worked_cases(case: dict[str, float]) -> None:
    # Kushner's rinse equations, remembered; figures computed. See the file for the status.
    once = dilution(case["carry_mL"], case["vol_mL"])
    fills = fills_that_dilute(float(case["n"]), True, SCALAR)
    assert once**fills == pytest.approx(case["residual_fraction"], rel=1e-12)


def test_unchanged_water_dilutes_once() -> None:
    assert fills_that_dilute(3.0, False, SCALAR) == 1.0
    one = played("clamp", handled(rinses=1.0, last_water="none"))
    three = played("clamp", handled(rinses=3.0, fresh_rinse=False, last_water="none"))
    changed = played("clamp", handled(rinses=3.0, last_water="none"))
    assert three.residue_mg == pytest.approx(one.residue_mg, rel=1e-12)
    assert changed.residue_mg < 0.1 * three.residue_mg


@pytest.mark.parametrize("case", PHYSICS["arrhenius"]["cases"])
def test_arrhenius_ratio_matches_the_worked_cases(case: dict[str, float]) -> None:
    ratio = arrhenius_ratio(case["Ea_kJ"] * 1000.0, case["T2"], case["T1"], SCALAR)
    assert ratio == pytest.approx(case["ratio"], rel=1e-6)


@pytest.mark.parametrize("case", PHYSICS["enzyme_illustrative"]["cases"])
def test_rate_below_the_cap_matches_the_illustrative_enzyme(case: dict[str, float]) -> None:
    energy = ACTIVATION["protein"].value
    ratio = arrhenius_ratio(energy, case["T_C"], REFERENCE.value, SCALAR)
    assert ratio == pytest.approx(case["k_rel"], rel=1e-6)


def test_constants_that_claim_a_calculation_follow_from_it() -> None:
    from scoring.bench.brushing import OUTSIDE, STROKE, TOUCH
    from scoring.bench.lumen import FLUSH

    assert STROKE["dried"].value == pytest.approx(math.log(1 / 0.062) / (14 * 0.7), abs=5e-5)
    assert FLUSH["fresh"].value == pytest.approx(math.log(335.4 / 3.99) / 50, abs=5e-5)
    assert TOUCH["lumen"].value == pytest.approx(math.log(3.99 / 0.23) / 6, abs=5e-3)
    # Of the joint's 37 %, what is left when brushed from outside makes up the 17.7 %.
    outside = math.exp(-STROKE["dried"].value * OUTSIDE.value * 14)
    assert 0.37 * outside + 0.63 * 0.062 == pytest.approx(0.177, abs=0.005)
