"""Soil put back: by a used bath and by a brush that was not cleaned. No more than they hold."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench import soiling
from scoring.bench.state import SOIL_KINDS, State
from tests.scoring.bench.case import INSTRUMENTS, handled, instrument, played, site, total

LIMIT = site().limits.protein_ug_per_cm2


def clean(name: str) -> State:
    return State(soil={place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instrument(name).places})


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_a_film_of_the_bath_carries_its_share_of_the_soil(name: str) -> None:
    # 6 sets of 40 mg in 10 L, and the carried volume of it, wholly reached: nothing else.
    opened = handled(loads_before=6.0)
    done = played(name, opened, clean(name), steps=("soak",))
    in_film = instrument(name).carried_ml * 6.0 * soiling.SET.value / 10_000.0
    assert total(done) == pytest.approx(in_film, rel=1e-9)
    assert sum(done.soil[place]["fresh"] for place in done.soil) == total(done)


@given(st.floats(0, 60), st.floats(0, 60), st.floats(0, 20))
def test_the_film_does_not_grow_with_time(minutes: float, longer: float, sets: float) -> None:
    short, long = (
        played("clamp", handled(minutes=time, loads_before=sets), steps=("soak",))
        for time in (minutes, minutes + longer)
    )
    for place in short.soil:
        assert long.total_ug(place) <= short.total_ug(place) * (1 + 1e-9)


def test_more_sets_before_never_leave_less() -> None:
    lefts = [
        total(played("clamp", handled(loads_before=sets), steps=("soak", "brush", "rinse")))
        for sets in (0.0, 1.0, 3.0, 6.0)
    ]
    assert lefts == sorted(lefts)
    assert lefts[0] < lefts[1]


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_an_uncleaned_brush_soils_a_clean_instrument(name: str) -> None:
    done = played(name, handled(brush_clean=False), clean(name), steps=("brush",))
    assert 0 < total(done) <= soiling.STOCK.value
    assert total(played(name, handled(), clean(name), steps=("brush",))) == 0
    unused = handled(brush_clean=False, strokes=0.0)
    assert total(played(name, unused, clean(name), steps=("brush",))) == 0


@given(st.floats(0, 3000), st.floats(0, 40), st.floats(0, 40))
def test_an_uncleaned_brush_moves_soil_towards_its_own(
    fresh: float, strokes: float, more: float
) -> None:
    soil = clean("clamp").soil
    soil["shank_left"]["fresh"] = fresh
    few, many = (
        played("clamp", handled(brush_clean=False, strokes=n), State(soil=soil), steps=("brush",))
        for n in (strokes, strokes + more)
    )
    area = sum(place.area_cm2 for place in instrument("clamp").places.values())
    level = soiling.STOCK.value * instrument("clamp").places["shank_left"].area_cm2 / area
    low, high = sorted((level, fresh))
    for state in (few, many):
        assert low * (1 - 1e-9) <= state.protein_ug("shank_left") <= high * (1 + 1e-9)
    gaps = [abs(state.protein_ug("shank_left") - level) for state in (few, many)]
    assert gaps[1] <= gaps[0] + 1e-9 * level


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_the_soil_of_the_brush_is_found_after_the_rinse(name: str) -> None:
    done = played(name, handled(brush_clean=False))
    assert any(
        done.protein_ug(place) / shape.area_cm2 > LIMIT
        for place, shape in instrument(name).places.items()
    )


def test_the_film_lies_only_where_the_bath_came() -> None:
    device, used = instrument("clamp"), handled(loads_before=5.0)
    place = device.places["jaw_left"]
    whole = soiling.film_ug(place, used, device, 1.0)
    assert soiling.film_ug(place, used, device, 0.25) == pytest.approx(0.25 * whole)
    assert soiling.film_ug(place, used, device, 0.0) == 0 < whole
