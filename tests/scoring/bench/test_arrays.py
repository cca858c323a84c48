"""Many trajectories at once give the same figures as one at a time."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench.arrays import ARRAYS
from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR, mean_decay
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from tests.scoring.bench.case import instrument, site, soiled
from tests.scoring.bench.test_properties import EVERY_KIND, HANDLINGS

STEPS = (
    "dry", "soak", "brush", "flush", "rinse", "inspect", "machine", "wipe", "lubricate", "rinse",
    "dry_off",
)  # fmt: skip
MEASURES = tuple(field.name for field in dataclasses.fields(State) if field.name != "soil")


def stacked(handlings: list[Handling]) -> Handling:
    return Handling(
        **{
            setting.name: np.array([getattr(one, setting.name) for one in handlings])
            for setting in dataclasses.fields(Handling)
        }
    )


def at(value: Any, row: int) -> float:
    return float(np.broadcast_to(value, (row + 1,))[row]) if np.ndim(value) == 0 else value[row]


@given(st.lists(HANDLINGS, min_size=1, max_size=5), st.sampled_from(EVERY_KIND))
def test_arrays_equal_floats(handlings: list[Handling], name: str) -> None:
    start = soiled(name, fat=80.0, mineral=20.0, bone=30.0, fixed=10.0)
    together = start
    for step in STEPS:
        together = run_step(step, together, stacked(handlings), instrument(name), site(), ARRAYS)
    for row, handling in enumerate(handlings):
        alone: State = start
        for step in STEPS:
            alone = run_step(step, alone, handling, instrument(name), site())
        for place in alone.soil:
            for kind in SOIL_KINDS:
                found = at(together.soil[place][kind], row)
                # Where protein is all but gone it is a difference of larger amounts, so the
                # rounding is relative to what the place began with.
                scale = start.total_ug(place)
                wanted = alone.soil[place][kind]
                assert found == pytest.approx(wanted, rel=1e-12, abs=1e-12 * scale)
        for measure in MEASURES:
            found = at(getattr(together, measure), row)
            assert found == pytest.approx(getattr(alone, measure), rel=1e-12, abs=1e-13)


def test_an_unknown_name_in_an_array_is_refused() -> None:
    with pytest.raises(KeyError, match="bleach"):
        ARRAYS.pick({"plain_water": 1.0}, np.array(["plain_water", "bleach"]))


@pytest.mark.parametrize("x", [0.0, 1e-15, 1e-6, 0.5, 40.0, -3.0])
def test_mean_decay_is_exact_near_zero_too(x: float) -> None:
    series = 1 - x / 2 + x * x / 6
    wanted = series if abs(x) < 1e-3 else (1 - np.exp(-x)) / x
    assert mean_decay(x, SCALAR) == pytest.approx(wanted, rel=1e-12)
    assert mean_decay(np.array([x]), ARRAYS)[0] == pytest.approx(wanted, rel=1e-12)


def test_the_scalar_path_loads_no_numpy() -> None:
    code = (
        "import sys, scoring.bench.steps, lessons.drawing; "
        "heavy = {'numpy', 'pandas', 'scipy', 'matplotlib', 'sqlalchemy'} & set(sys.modules); "
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
