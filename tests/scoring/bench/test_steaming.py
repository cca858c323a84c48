"""The reach of steam: each barrier that the sink leaves lowers it, and none raises it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench.arrays import ARRAYS
from scoring.bench.handling import Handling
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steaming import place_reach, worst_reach
from tests.scoring.bench.case import WORK, handled, instrument, played

OPEN = Handling(opened=True)


def clean(name: str) -> State:
    return State(soil={place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument(name).places})


@pytest.mark.parametrize("name", ["clamp", "suction_tube", "bowl", "flexible_tube"])
def test_steam_reaches_all_of_a_clean_dry_opened_instrument(name: str) -> None:
    assert worst_reach(clean(name), OPEN, instrument(name)) == 1


def test_each_barrier_is_met_where_it_lies() -> None:
    clamp, tube = instrument("clamp"), instrument("suction_tube")
    oiled = clean("clamp").changed(oil_mg=15.0)
    assert place_reach("box_lock", oiled, OPEN, clamp) < 0.1
    assert place_reach("jaw_left", oiled, OPEN, clamp) == 1
    assert place_reach("box_lock", clean("clamp"), Handling(), clamp) < 0.5
    wet = clean("suction_tube").changed(water_ml=6.0)
    assert place_reach("lumen", wet, OPEN, tube) < 0.2
    assert place_reach("outer", wet, OPEN, tube) == 1
    # Without a joint the oil lies on the outside.
    assert place_reach("outer", clean("suction_tube").changed(oil_mg=15.0), OPEN, tube) < 0.1


def test_good_work_lets_steam_in_and_three_mistakes_keep_it_out() -> None:
    end = (*WORK, "lubricate", "dry_off")
    good = handled(lubricant="water_soluble", dry_way="air")
    for name, mistake in (
        ("clamp", good.changed(lubricant="oil")),
        ("suction_tube", good.changed(dry_way="cloth")),
        ("clamp", good.changed(brush="none")),
    ):
        right = worst_reach(played(name, good, steps=end), good, instrument(name))
        wrong = worst_reach(played(name, mistake, steps=end), mistake, instrument(name))
        assert wrong < 0.8 < 0.9 < right


@given(
    st.floats(0, 1000), st.floats(0, 50), st.floats(0, 6), st.booleans(),
    st.sampled_from(["clamp", "suction_tube"]),
)  # fmt: skip
def test_more_of_a_barrier_never_lets_more_steam_in(
    ug: float, oil: float, water: float, opened: bool, name: str
) -> None:
    handling = Handling(opened=opened)
    state = clean(name).changed(oil_mg=oil, water_ml=water)
    place = next(iter(state.soil))
    soil = {**state.soil, place: {**state.soil[place], "dried": ug}}
    less = worst_reach(state, handling, instrument(name))
    assert 0 <= worst_reach(state.changed(soil=soil), handling, instrument(name)) <= less <= 1


def test_many_at_once_are_as_one_by_one() -> None:
    oil = np.array([0.0, 5.0, 15.0])
    together = worst_reach(clean("clamp").changed(oil_mg=oil), OPEN, instrument("clamp"), ARRAYS)
    alone = [
        worst_reach(clean("clamp").changed(oil_mg=float(one)), OPEN, instrument("clamp"))
        for one in oil
    ]
    assert together == pytest.approx(alone, rel=1e-12)


def test_the_same_oil_on_two_joints_is_half_as_thick() -> None:
    one = instrument("clamp")
    second = one.places["box_lock"].model_copy()
    two = one.model_copy(update={"places": {**one.places, "second": second}})
    state = clean("clamp")
    state = state.changed(soil={**state.soil, "second": dict(state.soil["box_lock"])}, oil_mg=12.0)
    alone = place_reach("box_lock", state.changed(oil_mg=6.0), OPEN, one)
    assert place_reach("box_lock", state, OPEN, two) == pytest.approx(alone)
