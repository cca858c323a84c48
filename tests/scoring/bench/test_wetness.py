"""Water on and in an instrument: outside by a cloth, lumens only by air."""

from __future__ import annotations

import math
from typing import Any

import pytest

from scoring.bench.wetness import lumen_ml
from tests.scoring.bench.case import WORK, handled, instrument, played

DRIED = (*WORK, "dry_off")


def test_the_water_of_a_lumen_is_its_volume() -> None:
    # 4.0 mm x 220 mm: pi / 4 * 0.4^2 * 22 = 2.76 mL
    assert lumen_ml(instrument("suction_tube")) == pytest.approx(math.pi / 4 * 0.16 * 22)
    assert lumen_ml(instrument("clamp")) == 0
    for name in ("flexible_tube", "cannula_set", "reamer", "shaft_grasper"):
        assert 0 < lumen_ml(instrument(name)) <= instrument(name).carried_ml


@pytest.mark.parametrize("way", ["none", "cloth", "air"])
def test_a_cloth_leaves_the_lumen_wet(way: Any) -> None:
    clamp = played("clamp", handled(dry_way=way), steps=DRIED).water_ml
    tube = played("suction_tube", handled(dry_way=way), steps=DRIED).water_ml
    if way == "none":
        assert (clamp, tube) == (6.0, 6.0)
    else:
        assert clamp < 0.5
        assert (tube > 2.5) == (way == "cloth")


def test_soak_flush_and_rinse_wet_what_is_dry() -> None:
    assert played("suction_tube", handled(), steps=("soak",)).water_ml == 6.0
    flushed = played("suction_tube", handled(), steps=("flush",)).water_ml
    assert flushed == pytest.approx(lumen_ml(instrument("suction_tube")))
    none = handled(rinses=0.0, last_water="none")
    assert played("suction_tube", none, steps=("rinse",)).water_ml == 0


def test_what_was_dissolved_stays_when_the_water_goes() -> None:
    wet = played("clamp", handled(last_water="tap"))
    dry = played("clamp", handled(last_water="tap", dry_way="air"), steps=DRIED)
    assert dry.ions_mg == wet.ions_mg > 0
    assert dry.endotoxin_eu == wet.endotoxin_eu > 0


@pytest.mark.parametrize("ml", [0.0, 1.0, 500.0])
def test_a_flush_wets_no_more_than_went_through(ml: float) -> None:
    flushed = played("suction_tube", handled(flush_ml=ml), steps=("flush",))
    assert flushed.water_ml == min(ml, lumen_ml(instrument("suction_tube")))
