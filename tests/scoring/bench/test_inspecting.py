"""What the eye can see, by place, light, lens and borescope."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench.arrays import ARRAYS
from scoring.bench.inspecting import OPEN_TO_VIEW, SEEN, chance_of_seeing, chance_on
from scoring.bench.operations import SCALAR
from scoring.instrument import Place
from tests.scoring.bench.case import handled, instrument

PLACES = {
    place.kind: place
    for name in ("clamp", "suction_tube", "powered_drill")
    for place in instrument(name).places.values()
}
AMOUNTS = st.floats(0.0, 200.0)


def looked(**changes: Any) -> Any:
    return handled(**{"light_lux": 300.0, "magnification": 1.0, **changes})


def test_there_is_a_place_of_every_kind() -> None:
    assert set(PLACES) == set(OPEN_TO_VIEW)


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES)
def test_the_unaided_eye_finds_at_most_what_was_published(place: Place) -> None:
    # DesCoteaux et al. 1995 (E4, read): unaided-eye sensitivity at most about 11 %.
    assert chance_on(place, 5.0, looked()) <= SEEN.standard + 1e-12
    assert SEEN.standard == 0.11
    assert chance_on(PLACES["flat"], 5.0, looked()) == pytest.approx(0.11, abs=1e-12)


def test_a_lumen_is_seen_with_a_borescope_and_hardly_without() -> None:
    lumen = PLACES["lumen"]
    bright = {"light_lux": 1500.0, "magnification": 6.0}
    assert chance_on(lumen, 10.0, looked(**bright)) < 0.15
    assert chance_on(lumen, 10.0, looked(borescope=True)) > 0.9
    flat = PLACES["flat"]
    assert chance_on(flat, 10.0, looked(borescope=True)) == chance_on(flat, 10.0, looked())


@pytest.mark.parametrize("kind", ["joint", "serration", "ratchet"])
def test_what_is_closed_is_hidden(kind: str) -> None:
    place = PLACES[kind]
    shut, opened = (chance_on(place, 20.0, looked(opened=opened)) for opened in (False, True))
    assert shut < 0.5 * opened


@given(st.sampled_from(sorted(PLACES)), AMOUNTS, st.floats(50, 4000), st.floats(1, 20))
def test_more_soil_light_and_lens_never_hide(
    kind: str, amount: float, lux: float, lens: float
) -> None:
    place = PLACES[kind]
    handling = looked(light_lux=lux, magnification=lens)
    seen = chance_on(place, amount, handling)
    assert 0.0 <= seen <= chance_of_seeing(amount, lux, lens) + 1e-15
    assert chance_on(place, amount * 1.5, handling) >= seen
    assert chance_on(place, amount, handling.changed(light_lux=lux * 2)) >= seen
    assert chance_on(place, amount, handling.changed(magnification=lens * 2)) >= seen
    assert chance_on(place, amount, handling.changed(borescope=True)) >= seen


@pytest.mark.parametrize("kind", PLACES)
def test_arrays_equal_floats(kind: str) -> None:
    rows = list(itertools.product((0.0, 3.0, 40.0), (False, True), (False, True)))
    amounts, opened, scope = (np.array(column) for column in zip(*rows, strict=True))
    together = chance_on(PLACES[kind], amounts, looked(opened=opened, borescope=scope), ARRAYS)
    alone = [chance_on(PLACES[kind], a, looked(opened=o, borescope=b), SCALAR) for a, o, b in rows]
    assert together == pytest.approx(alone, rel=1e-12)


def test_four_times_the_light_is_worth_twice_the_soil() -> None:
    for lux in (100.0, 300.0, 500.0):
        brighter = chance_of_seeing(7.0, 4.0 * lux, 2.0)
        assert brighter == pytest.approx(chance_of_seeing(14.0, lux, 2.0), rel=1e-12)
    assert chance_of_seeing(7.0, 300.0, 4.0) == pytest.approx(chance_of_seeing(14.0, 300.0, 2.0))
