"""Lubricant: water-soluble leaves with a rinse, oil stays and keeps steam out."""

from __future__ import annotations

import pytest

from scoring.bench.lubricating import OIL
from tests.scoring.bench.case import WORK, handled, played, soiled


def test_a_rinse_takes_water_soluble_lubricant_off() -> None:
    # M82: put on before the last rinse, it is gone.
    put_on = handled(lubricant="water_soluble")
    last = played("clamp", put_on, steps=(*WORK, "lubricate"))
    early = played("clamp", put_on, steps=("soak", "brush", "lubricate", "rinse"))
    assert last.lubricated == 1
    assert early.lubricated < 0.05
    assert last.oil_mg == early.oil_mg == 0


def test_oil_stays_in_the_rinse_and_goes_with_cleaner_and_brush() -> None:
    oiled = played("clamp", handled(lubricant="oil"), soiled("clamp"), steps=("lubricate",))
    assert oiled.oil_mg == OIL.value
    rinsed = played("clamp", handled(), oiled, steps=("rinse",))
    assert (rinsed.oil_mg, rinsed.lubricated) == (OIL.value, 1)
    round_again = played("clamp", handled(), oiled)
    assert round_again.oil_mg < 0.02 * OIL.value
    twice = played("clamp", handled(lubricant="oil"), oiled, steps=("lubricate",))
    assert twice.oil_mg == OIL.value


def test_without_lubricant_nothing_changes() -> None:
    state = soiled("clamp").changed(lubricated=0.4)
    assert played("clamp", handled(), state, steps=("lubricate",)) == state


@pytest.mark.parametrize(("name", "joints"), [("clamp", 1), ("rongeur", 2), ("suction_tube", 1)])
def test_each_joint_gets_its_oil_and_a_tube_without_one_a_film(name: str, joints: int) -> None:
    done = played(name, handled(lubricant="oil"), steps=("lubricate",))
    assert done.oil_mg == joints * OIL.value
