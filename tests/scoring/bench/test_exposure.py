"""Exposure: towards the body, and the vapour of mixed chemicals."""

from __future__ import annotations

import pytest

from scoring.bench import exposure
from tests.scoring.bench.case import handled, played


def test_strokes_towards_the_body_throw_as_much_and_hit_more() -> None:
    away = played("clamp", handled(under_water=False), steps=("brush",))
    towards = played("clamp", handled(under_water=False, towards_body=True), steps=("brush",))
    assert towards.droplets == away.droplets
    assert towards.exposure == pytest.approx(away.exposure / exposure.AWAY.value)
    assert towards.exposure == pytest.approx(towards.droplets)


@pytest.mark.parametrize("steps", [("brush",), ("flush",), ("brush", "flush")])
def test_what_is_let_loose_above_the_surface_is_told_apart(steps: tuple[str, ...]) -> None:
    below = played("suction_tube", handled(), steps=steps)
    above = played("suction_tube", handled(under_water=False), steps=steps)
    far_end_up = played("suction_tube", handled(far_end_under=False), steps=steps)
    assert below.above == 0 < below.droplets
    assert below.droplets == pytest.approx(exposure.SURFACE.value * above.droplets)
    assert above.above == above.droplets
    assert (far_end_up.above > 0) == ("flush" in steps)
    assert far_end_up.above <= far_end_up.droplets


def test_mixed_chemicals_give_off_vapour_and_spoil_the_cleaner() -> None:
    one = played("clamp", handled(), steps=("soak",))
    two = played("clamp", handled(mixed=True), steps=("soak",))
    assert one.droplets == one.exposure == 0
    assert two.droplets == two.exposure == pytest.approx(12 * exposure.VAPOUR.value)
    assert two.above == two.droplets
    assert two.protein_ug("jaw_left") > one.protein_ug("jaw_left")
    assert two.residue_mg > one.residue_mg


def test_a_mask_does_not_stop_vapour() -> None:
    bare = played("clamp", handled(mixed=True), steps=("soak",))
    masked = played("clamp", handled(mixed=True, mask_on=True), steps=("soak",))
    goggles = played("clamp", handled(mixed=True, eyes_covered=True), steps=("soak",))
    assert masked.exposure == bare.exposure
    assert 0.4 * bare.exposure < goggles.exposure < bare.exposure
