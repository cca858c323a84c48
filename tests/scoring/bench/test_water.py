"""The closed forms for water against the reference tables."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from scoring.bench.water import density, viscosity

DATA = Path(__file__).parent / "data"


def rows() -> list[dict[str, str]]:
    # Computed from IAPWS-95 and IAPWS R12-08; the printed columns are remembered.
    lines = (DATA / "water.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_the_largest_errors_are_as_stated() -> None:
    # Over 5 to 95 degC: density within 0.0126 kg/m3, viscosity within 0.01 %.
    by_density = max(abs(density(float(r["celsius"])) - float(r["density"])) for r in rows())
    by_viscosity = max(
        abs(viscosity(float(r["celsius"])) * 1e3 / float(r["viscosity"]) - 1) for r in rows()
    )
    assert by_density == pytest.approx(0.0125, abs=1e-4)
    assert by_viscosity < 1e-4
    assert len(rows()) == 19


@pytest.mark.parametrize("row", [r for r in rows() if r["handbook_viscosity"]])
def test_printed_handbook_values(row: dict[str, str]) -> None:
    celsius = float(row["celsius"])
    assert density(celsius) == pytest.approx(float(row["handbook_density"]), abs=0.012)
    assert viscosity(celsius) * 1e3 == pytest.approx(float(row["handbook_viscosity"]), rel=3e-4)


def test_the_check_value_of_the_viscosity_standard() -> None:
    # IAPWS R12-08, Table 4 (memory): at 298.15 K and 998 kg/m3, a little above room pressure.
    check = json.loads((DATA / "flow.json").read_text(encoding="utf-8"))["viscosity_check"]
    found = viscosity(check["kelvin"] - 273.15) * 1e6
    assert found == pytest.approx(check["micropascal_s"], rel=5e-4)


def test_arrays_equal_floats() -> None:
    celsius = np.linspace(0.0, 100.0, 41)
    for form in (density, viscosity):
        assert form(celsius) == pytest.approx([form(float(one)) for one in celsius], rel=1e-14)
    assert (np.diff(viscosity(celsius)) < 0).all()
