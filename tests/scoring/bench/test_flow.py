"""Flow through lumens against the worked cases, and what must hold for any lumen."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench import flow
from scoring.bench.arrays import ARRAYS
from scoring.bench.operations import SCALAR
from scoring.bench.water import density

CASES = json.loads((Path(__file__).parent / "data" / "flow.json").read_text(encoding="utf-8"))

BORES = st.floats(0.5, 8.0)
LENGTHS = st.floats(50.0, 2000.0)
PRESSURES = st.floats(0.01, 500.0)
CELSIUS = st.floats(5.0, 60.0)


@pytest.mark.parametrize("case", CASES["cases"], ids=lambda case: f"{case['d_mm']} mm")
def test_hagen_poiseuille_matches_the_worked_cases(case: dict[str, float]) -> None:
    # Textbook formula with the viscosity of the reference table; ours lies within 0.01 % of it.
    bore, length, kpa = case["d_mm"], case["L_m"] * 1e3, case["dp_Pa"] / 1e3
    found = flow.laminar_flow_ml_s(bore, length, kpa, case["T_C"])
    assert found == pytest.approx(case["Q_mL_s"], rel=1e-4)
    assert flow.velocity_m_s(case["Q_mL_s"], bore) == pytest.approx(case["v"], rel=1e-12)
    assert flow.wall_shear_pa(bore, length, kpa) == pytest.approx(case["wall_shear_Pa"], rel=1e-12)
    number = flow.reynolds(case["Q_mL_s"], bore, case["T_C"])
    assert number == pytest.approx(case["Re"], rel=1e-4)
    assert (number < flow.LAMINAR_UP_TO) == case["laminar"]


def test_half_the_bore_lets_a_sixteenth_through() -> None:
    wide = flow.laminar_flow_ml_s(2.0, 300.0, 5.0, 20.0)
    assert wide / flow.laminar_flow_ml_s(1.0, 300.0, 5.0, 20.0) == pytest.approx(16.0, rel=1e-12)
    fine, wide = flow.shares([(0.5, 300.0), (1.0, 300.0)], 5.0, 20.0, SCALAR)
    assert wide / fine == pytest.approx(16.0, rel=1e-12)


@given(BORES, LENGTHS, PRESSURES, CELSIUS)
def test_the_flow_holds_its_own_friction(b: float, length: float, kpa: float, c: float) -> None:
    found = flow.flow_ml_s(b, length, kpa, c, SCALAR)
    laminar = flow.laminar_flow_ml_s(b, length, kpa, c)
    number = flow.reynolds(found, b, c)
    assert found <= laminar * (1 + 1e-12)
    if number < flow.LAMINAR_UP_TO * (1 - 1e-9):
        assert found == pytest.approx(laminar, rel=1e-12)
    elif number > flow.LAMINAR_UP_TO * (1 + 1e-9):
        # Darcy and Weisbach with the friction of Blasius must give the pressure back.
        speed = flow.velocity_m_s(found, b)
        friction = 0.3164 / number**0.25
        pressure = friction * length / b * density(c) * speed**2 / 2.0
        assert pressure == pytest.approx(kpa * 1e3, rel=1e-9)


@given(BORES, LENGTHS, PRESSURES, CELSIUS, st.floats(1.0, 3.0))
def test_more_pressure_or_bore_never_lets_less_through(
    b: float, length: float, kpa: float, c: float, more: float
) -> None:
    here = flow.flow_ml_s(b, length, kpa, c, SCALAR)
    slack = here * (1 - 1e-12)
    assert flow.flow_ml_s(b, length, kpa * more, c, SCALAR) >= slack
    assert flow.flow_ml_s(b * more, length, kpa, c, SCALAR) >= slack
    assert flow.flow_ml_s(b, length * more, kpa, c, SCALAR) <= here * (1 + 1e-12)


@given(st.lists(st.tuples(BORES, LENGTHS), min_size=1, max_size=5), PRESSURES)
def test_shares_add_to_one_and_the_order_does_not_matter(
    lumens: list[tuple[float, float]], kpa: float
) -> None:
    found = flow.shares(lumens, kpa, 20.0, SCALAR)
    assert sum(found) == pytest.approx(1.0, rel=1e-12)
    turned = flow.shares(lumens[::-1], kpa, 20.0, SCALAR)
    assert turned[::-1] == pytest.approx(found, rel=1e-12)
    alike = flow.shares([lumens[0]] * 4, kpa, 20.0, SCALAR)
    assert alike == pytest.approx([0.25] * 4, rel=1e-12)


def test_arrays_equal_floats() -> None:
    kpa = np.geomspace(0.01, 500.0, 60)
    together = flow.flow_ml_s(3.2, 400.0, kpa, 20.0, ARRAYS)
    alone = [flow.flow_ml_s(3.2, 400.0, float(one), 20.0, SCALAR) for one in kpa]
    assert together == pytest.approx(alone, rel=1e-12)
