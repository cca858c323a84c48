"""Density and viscosity of water at the pressure of a room, from 0 to 100 degC.

Both are published closed forms, so a trainee's page needs no library for them.
The tests state how far they lie from the reference tables.
"""

from __future__ import annotations

from typing import Any

_KELL_TOP = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_KELL_BELOW = 16.879850e-3
"""Kell, J Chem Eng Data 1975;20:97, equation for the density of water at 1 atm, kg/m3 with degC
(memory; checked against the tables in the tests)."""

_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
"""IAPWS SR6-08, liquid water at 0.1 MPa: viscosity is 1e-6 Pa s times the sum of
a (T / 300 K)^b, T in kelvin (memory; checked against the tables in the tests)."""

_ZERO_C = 273.15
"""0 degC in kelvin, exact by definition of the Celsius scale (SI; memory)."""


def density(celsius: Any) -> Any:
    """Return the density of water, kg/m3.

    Parameters
    ----------
    celsius : float or array
        Temperature, 0 to 100 degC.
    """
    top: Any = 0.0
    for factor in reversed(_KELL_TOP):
        top = top * celsius + factor
    return top / (1.0 + _KELL_BELOW * celsius)


def viscosity(celsius: Any) -> Any:
    """Return the dynamic viscosity of water, Pa s.

    Parameters
    ----------
    celsius : float or array
        Temperature, 0 to 100 degC.
    """
    reduced = (celsius + _ZERO_C) / 300.0
    return 1e-6 * sum(factor * reduced**power for factor, power in _VISCOSITY)
