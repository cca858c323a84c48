"""Flow: how water at one pressure goes through a lumen, and how it divides between several.

Laminar flow is Hagen and Poiseuille's, ``Q = pi d^4 dp / (128 mu L)``. Above a
Reynolds number of 2300 the friction is turbulent, here Blasius' for a smooth
wall, ``f = 0.3164 / Re^0.25``. Between the two the flow is held at Reynolds
2300, so that it never falls when the pressure rises. The shear at the wall is
``dp d / (4 L)`` in both: the pressure on the ends must hold the friction.

Left out: the entry length, losses at ports and bends, rough walls, and the
syringe or pump that gives way under the flow. Above Reynolds 100000 Blasius'
friction is a little low. All equations are textbook mechanics of fluids (memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from scoring.bench.operations import Operations
from scoring.bench.water import density, viscosity

LAMINAR_UP_TO = 2300.0
"""Reynolds number; published values lie between 2000 and 2400 (textbook; memory)."""

_BLASIUS = 0.3164
"""Darcy's friction factor times Re^0.25, smooth pipe, Re 4000 to 100000 (Blasius 1913; memory)."""


def laminar_flow_ml_s(bore_mm: Any, length_mm: Any, kpa: Any, celsius: Any) -> Any:
    """Return the flow if it were laminar at any speed, mL/s.

    Parameters
    ----------
    bore_mm, length_mm : float or array
        Inner diameter and length of the lumen, mm, above 0.
    kpa : float or array
        Pressure between its ends, kPa, at least 0.
    celsius : float or array
        Temperature of the water, 0 to 100 degC.
    """
    bore, length = bore_mm / 1e3, length_mm / 1e3
    return math.pi * bore**4 * kpa * 1e3 / (128.0 * viscosity(celsius) * length) * 1e6


def velocity_m_s(flow_ml_s: Any, bore_mm: Any) -> Any:
    """Return the mean velocity of a flow in mL/s through a bore in mm, m/s."""
    return flow_ml_s / 1e6 / (math.pi * (bore_mm / 1e3) ** 2 / 4.0)


def reynolds(flow_ml_s: Any, bore_mm: Any, celsius: Any) -> Any:
    """Return the Reynolds number of a flow in mL/s through a bore in mm, water at degC."""
    speed = velocity_m_s(flow_ml_s, bore_mm)
    return density(celsius) * speed * bore_mm / 1e3 / viscosity(celsius)


def flow_ml_s(bore_mm: Any, length_mm: Any, kpa: Any, celsius: Any, ops: Operations) -> Any:
    """Return the flow through a lumen, laminar or turbulent, mL/s.

    Parameters
    ----------
    bore_mm, length_mm : float or array
        Inner diameter and length of the lumen, mm, above 0.
    kpa : float or array
        Pressure between its ends, kPa, at least 0.
    celsius : float or array
        Temperature of the water, 0 to 100 degC.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        Never falls when the pressure rises.
    """
    bore, length = bore_mm / 1e3, length_mm / 1e3
    mu, rho = viscosity(celsius), density(celsius)
    # dp = f (L / d) rho v^2 / 2 with f = 0.3164 (mu / (rho v d))^0.25, solved for v.
    turbulent = (
        2.0 * kpa * 1e3 * bore**1.25 / (_BLASIUS * length * rho**0.75 * mu**0.25)
    ) ** (1.0 / 1.75)  # fmt: skip
    critical = LAMINAR_UP_TO * mu / (rho * bore)
    beyond = ops.maximum(turbulent, critical) * math.pi * bore**2 / 4.0 * 1e6
    return ops.minimum(laminar_flow_ml_s(bore_mm, length_mm, kpa, celsius), beyond)


def wall_shear_pa(bore_mm: Any, length_mm: Any, kpa: Any) -> Any:
    """Return the shear at the wall, Pa, from bore and length in mm and pressure in kPa."""
    return kpa * 1e3 * bore_mm / (4.0 * length_mm)


def shares(
    lumens: Sequence[tuple[float, float]], kpa: Any, celsius: Any, ops: Operations
) -> list[Any]:
    """Return how one line divides its flow between lumens that hang on it side by side.

    Parameters
    ----------
    lumens : sequence of (float, float)
        Bore and length of each, mm, above 0.
    kpa : float or array
        Pressure in the line, kPa, above 0.
    celsius : float or array
        Temperature of the water, 0 to 100 degC.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    list of float or array
        One share a lumen, 0 to 1; they add to 1. In laminar flow a lumen of
        half the bore gets a sixteenth.
    """
    flows = [flow_ml_s(bore, length, kpa, celsius, ops) for bore, length in lumens]
    whole = sum(flows)
    return [flow / whole for flow in flows]
