"""What must hold for any soil and any handling."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench import soiling, wearing
from scoring.bench.handling import (
    Agent,
    Brush,
    Cloth,
    DryWay,
    Handling,
    Lubricant,
    Machine,
    RinseWay,
    Water,
)
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steaming import worst_reach
from scoring.bench.steps import run_step
from tests.scoring.bench.case import INSTRUMENTS, handled, instrument, played, site, soiled, total

AMOUNT = st.floats(0, 5000, allow_subnormal=False)
STEPS = (
    "dry", "soak", "brush", "flush", "rinse", "inspect", "wipe", "machine", "dry_off", "lubricate",
)  # fmt: skip
EVERY_KIND = (*INSTRUMENTS, "powered_drill", "flexible_tube", "micro_forceps")
"""Those of the calibration, one that must not be immersed, and two delicate ones."""
ROUNDING = 1e-9


def _within(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


HANDLINGS = st.builds(
    Handling,
    agent=st.sampled_from(Agent.__args__),  # type: ignore[attr-defined]
    dose_ml=_within(0, 500),
    bath_l=_within(1, 30),
    temperature_c=_within(1, 95),
    minutes=_within(0, 2000),
    loads_before=_within(0, 30),
    opened=st.booleans(),
    one_layer=st.booleans(),
    immersed=st.booleans(),
    mixed=st.booleans(),
    saline=st.booleans(),
    heavy_on_top=st.booleans(),
    moist=st.booleans(),
    lumen_filled=st.booleans(),
    brush=st.sampled_from(Brush.__args__),  # type: ignore[attr-defined]
    brush_mm=_within(0, 8),
    brush_clean=st.booleans(),
    brush_through=st.booleans(),
    supported=st.booleans(),
    towards_body=st.booleans(),
    strokes=_within(0, 100),
    inner_joint=st.booleans(),
    under_water=st.booleans(),
    flush_ml=_within(0, 1000),
    far_end_under=st.booleans(),
    flush_kpa=_within(0, 500),
    manifold=st.booleans(),
    rinse_way=st.sampled_from(RinseWay.__args__),  # type: ignore[attr-defined]
    rinses=_within(0, 8),
    rinse_l=_within(0.5, 30),
    fresh_rinse=st.booleans(),
    last_water=st.sampled_from(Water.__args__),  # type: ignore[attr-defined]
    lubricant=st.sampled_from(Lubricant.__args__),  # type: ignore[attr-defined]
    dry_way=st.sampled_from(DryWay.__args__),  # type: ignore[attr-defined]
    cloth=st.sampled_from(Cloth.__args__),  # type: ignore[attr-defined]
    cloth_agent=st.sampled_from(Agent.__args__),  # type: ignore[attr-defined]
    wipes=_within(0, 100),
    ports_closed=st.booleans(),
    machine=st.sampled_from(Machine.__args__),  # type: ignore[attr-defined]
    eyes_covered=st.booleans(),
    gloves_thick=st.booleans(),
    gown_on=st.booleans(),
    mask_on=st.booleans(),
)


@st.composite
def states(draw: Any, name: str) -> State:
    soil = {place: {kind: draw(AMOUNT) for kind in SOIL_KINDS} for place in instrument(name).places}
    return State(
        soil=soil,
        residue_mg=draw(AMOUNT),
        ions_mg=draw(AMOUNT),
        endotoxin_eu=draw(AMOUNT),
        water_ml=draw(_within(0, instrument(name).carried_ml)),
        inside_ml=draw(_within(0, 20)),
        oil_mg=draw(_within(0, 50)),
        lubricated=draw(_within(0, 1)),
    )


def put_back(step: str, handling: Handling, name: str) -> float:
    """Soil that a used bath or an uncleaned brush brings along, ug over the whole instrument."""
    if step == "soak":
        per_ml = soiling.SET.value * handling.loads_before / (handling.bath_l * 1000.0)
        return instrument(name).carried_ml * per_ml
    return soiling.STOCK.value if step == "brush" and not handling.brush_clean else 0.0


@given(st.data(), HANDLINGS, st.sampled_from(EVERY_KIND), st.sampled_from(STEPS))
def test_no_mass_is_created_and_nothing_is_negative(
    data: Any, handling: Handling, name: str, step: str
) -> None:
    before = data.draw(states(name))
    after = run_step(step, before, handling, instrument(name), site())
    brought = put_back(step, handling, name)
    assert total(after) <= (total(before) + brought) * (1 + ROUNDING)
    for place in before.soil:
        assert after.total_ug(place) <= (before.total_ug(place) + brought) * (1 + ROUNDING)
        for kind in SOIL_KINDS:
            assert after.soil[place][kind] >= 0
            assert math.isfinite(after.soil[place][kind])
        for kind in ("fat", "mineral", "bone"):
            assert after.soil[place][kind] <= before.soil[place][kind]
    assert after.residue_mg >= 0
    assert after.ions_mg >= 0
    assert after.droplets >= before.droplets
    assert before.above <= after.above <= after.droplets
    assert before.exposure <= after.exposure <= after.droplets + ROUNDING
    assert before.damage <= after.damage <= 1
    assert after.endotoxin_eu >= 0
    assert -ROUNDING <= after.water_ml <= instrument(name).carried_ml + ROUNDING
    assert before.inside_ml <= after.inside_ml <= wearing.FULL.value
    assert after.inside_ml == before.inside_ml or not instrument(name).immersible
    assert after.oil_mg >= 0
    assert after.oil_mg <= before.oil_mg or (step, handling.lubricant) == ("lubricate", "oil")
    assert 0 <= after.lubricated <= 1
    assert 0 <= worst_reach(after, handling, instrument(name)) <= 1


@given(st.data(), HANDLINGS)
def test_drying_and_looking_take_nothing_off(data: Any, handling: Handling) -> None:
    before = data.draw(states("clamp"))
    dried = run_step("dry", before, handling, instrument("clamp"), site())
    assert total(dried) == pytest.approx(total(before), rel=1e-9, abs=1e-9)
    assert run_step("inspect", before, handling, instrument("clamp"), site()) == before


@given(HANDLINGS, _within(0, 50), _within(0, 50), st.sampled_from(INSTRUMENTS))
def test_more_strokes_never_leave_more(
    handling: Handling, strokes: float, more: float, name: str
) -> None:
    # What an uncleaned brush does to a clean place is test_soiling's.
    handling = handling.changed(brush_clean=True)
    few = played(name, handling.changed(strokes=strokes), steps=("brush",))
    many = played(name, handling.changed(strokes=strokes + more), steps=("brush",))
    for place in few.soil:
        for kind in SOIL_KINDS:
            assert many.soil[place][kind] <= few.soil[place][kind]


@given(
    st.data(), HANDLINGS, st.sampled_from(EVERY_KIND), _within(0, 8), _within(0, 8),
    st.sampled_from([("wipe", "wipes"), ("rinse", "rinses"), ("flush", "flush_ml")]),
)  # fmt: skip
def test_more_wipes_rinses_and_flushes_never_leave_more_soil(
    data: Any, handling: Handling, name: str, amount: float, more: float, step: tuple[str, str]
) -> None:
    state = data.draw(states(name))
    few = played(name, handling.changed(**{step[1]: amount}), state, steps=(step[0],))
    many = played(name, handling.changed(**{step[1]: amount + more}), state, steps=(step[0],))
    for place in few.soil:
        assert many.total_ug(place) <= few.total_ug(place) * (1 + ROUNDING)


@given(st.data(), HANDLINGS, st.sampled_from(EVERY_KIND), st.sampled_from(["cloth", "air"]))
def test_drying_off_and_machines_never_leave_more_than_nothing_done(
    data: Any, handling: Handling, name: str, way: DryWay
) -> None:
    state = data.draw(states(name))
    wet = played(name, handling.changed(dry_way="none"), state, steps=("dry_off",))
    assert wet == state
    dried = played(name, handling.changed(dry_way=way), state, steps=("dry_off",))
    assert dried.water_ml <= state.water_ml
    assert dried.ions_mg == state.ions_mg
    assert dried.endotoxin_eu == state.endotoxin_eu
    assert played(name, handling.changed(machine="none"), state, steps=("machine",)) == state


@given(HANDLINGS, _within(0, 40), _within(0, 60), st.sampled_from(INSTRUMENTS))
def test_hotter_than_the_cap_never_leaves_less_protein(
    handling: Handling, first: float, hotter: float, name: str
) -> None:
    cap = site().cleaner.temperature_max_c
    near = handling.changed(temperature_c=cap + min(first, 40.0))
    far = handling.changed(temperature_c=cap + min(first, 40.0) + hotter)
    for steps in (("soak",), ("soak", "brush", "flush", "rinse")):
        at_cap = played(name, handling.changed(temperature_c=cap), steps=steps)
        warm, hot = (played(name, h, steps=steps) for h in (near, far))
        for place in hot.soil:
            slack = ROUNDING * (1 + at_cap.protein_ug(place))
            assert warm.protein_ug(place) >= at_cap.protein_ug(place) - slack
            assert hot.protein_ug(place) >= warm.protein_ug(place) - slack


@given(_within(5, 39), _within(0, 30), _within(0.5, 60))
def test_warmer_below_the_cap_never_leaves_more(
    celsius: float, warmer: float, minutes: float
) -> None:
    cap = site().cleaner.temperature_max_c
    cool = played("clamp", handled(temperature_c=celsius, minutes=minutes))
    warm = played("clamp", handled(temperature_c=min(celsius + warmer, cap), minutes=minutes))
    for place in cool.soil:
        assert warm.total_ug(place) <= cool.total_ug(place) * (1 + ROUNDING) + ROUNDING


@given(
    st.sampled_from(["enzymatic_cleaner", "alkaline_cleaner", "neutral_detergent"]),
    _within(0, 120),
    _within(0, 60),
    _within(0, 200),
    _within(0, 100),
)
def test_longer_soaks_and_larger_doses_never_leave_more(
    agent: str, minutes: float, longer: float, dose: float, more: float
) -> None:  # fmt: skip
    base = {"agent": agent, "minutes": minutes, "dose_ml": dose}
    short = played("clamp", handled(**base))
    long = played("clamp", handled(**{**base, "minutes": minutes + longer}))
    strong = played("clamp", handled(**{**base, "dose_ml": dose + more}))
    for place in short.soil:
        slack = ROUNDING * (1 + short.protein_ug(place))
        assert long.protein_ug(place) <= short.protein_ug(place) + slack
        assert strong.protein_ug(place) <= short.protein_ug(place) + slack
    assert strong.residue_mg >= short.residue_mg


@given(st.sampled_from(["aldehyde", "oxidiser"]), _within(1, 60), st.sampled_from(INSTRUMENTS))
def test_fixing_before_cleaning_is_worse_than_after(fixer: str, minutes: float, name: str) -> None:
    fix, clean = handled(agent=fixer, minutes=minutes), handled()
    before = played(name, clean, played(name, fix, steps=("soak",)))
    after = played(name, fix, played(name, clean), steps=("soak",))
    assert total(before) > total(after)


@given(
    st.data(), HANDLINGS, st.sampled_from(EVERY_KIND), _within(0.05, 0.95),
    st.sampled_from([("dry", "minutes"), ("soak", "minutes"), ("brush", "strokes"),
                     ("flush", "flush_ml"), ("rinse", "rinses"), ("wipe", "wipes")]),
)  # fmt: skip
def test_cutting_a_step_in_two_changes_nothing(
    data: Any, handling: Handling, name: str, share: float, cut: tuple[str, str]
) -> None:
    step, setting = cut
    # Some things belong to a whole step: unchanged water, a last rinse, the film of a used
    # bath, a brush that does not come through; see the bench's README.
    handling = handling.changed(
        fresh_rinse=True, last_water="none", loads_before=0.0, brush_through=True
    )
    state = data.draw(states(name))
    amount = getattr(handling, setting)
    whole = played(name, handling, state, steps=(step,))
    first = played(name, handling.changed(**{setting: amount * share}), state, steps=(step,))
    second = played(name, handling.changed(**{setting: amount * (1 - share)}), first, steps=(step,))
    for place in whole.soil:
        scale = 1 + state.total_ug(place)
        for kind in SOIL_KINDS:
            found, wanted = second.soil[place][kind], whole.soil[place][kind]
            assert found == pytest.approx(wanted, rel=1e-8, abs=1e-8 * scale)
    assert second.residue_mg == pytest.approx(whole.residue_mg, rel=1e-8, abs=1e-9)
    assert second.ions_mg == pytest.approx(whole.ions_mg, rel=1e-8, abs=1e-6)
    assert second.droplets == pytest.approx(whole.droplets, rel=1e-9, abs=1e-9)
    assert second.above == pytest.approx(whole.above, rel=1e-9, abs=1e-9)
    assert second.exposure == pytest.approx(whole.exposure, rel=1e-9, abs=1e-9)
    assert second.endotoxin_eu == pytest.approx(whole.endotoxin_eu, rel=1e-8, abs=1e-6)
    assert second.water_ml == pytest.approx(whole.water_ml, rel=1e-8, abs=1e-9)
    assert second.inside_ml == pytest.approx(whole.inside_ml, rel=1e-9, abs=1e-9)
    assert second.oil_mg == pytest.approx(whole.oil_mg, rel=1e-9, abs=1e-9)
    assert second.lubricated == pytest.approx(whole.lubricated, rel=1e-9, abs=1e-9)
    if step != "soak":  # each soak has its own longest time
        assert second.damage == pytest.approx(whole.damage, rel=1e-9, abs=1e-9)


def test_keeping_moist_keeps_soil_fresh() -> None:
    air = played("clamp", handled(minutes=120.0, moist=False), steps=("dry",))
    moist = played("clamp", handled(minutes=120.0, moist=True), steps=("dry",))
    assert moist.soil["jaw_left"]["fresh"] > 4 * air.soil["jaw_left"]["fresh"]


def test_the_state_given_is_not_changed() -> None:
    state = soiled("clamp")
    copy = {place: dict(kinds) for place, kinds in state.soil.items()}
    for step in STEPS:
        run_step(step, state, handled(), instrument("clamp"), site())
    assert state.soil == copy


def test_an_unknown_step_is_refused() -> None:
    with pytest.raises(KeyError):
        run_step("shine", soiled("clamp"), handled(), instrument("clamp"), site())
