"""Inspecting: the chance of seeing soil. It changes nothing on the instrument.

``p = 1 - exp(-see * amount * sqrt(lux / 300) * magnification)``. The unaided eye
under ordinary light found at most about 11 % of what a microscope found (E4);
the amount that this stands for is an assumption.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed
from scoring.bench.operations import SCALAR, Operations

AMOUNT = assumed(
    "soil that the unaided eye mostly misses", 5.0, "ug/cm2", 1.0, 20.0,
    "a little above the limits of L1; E4 does not give amounts",
)  # fmt: skip
SEEN = Constant(
    "chance that the unaided eye sees it", 0.11, "1", 0.05, 0.2, "E4, at most about 11 %", "read"
)
LIGHT = assumed("ordinary light", 300.0, "lux", 200.0, 500.0, "below the 500 to 1000 lux of R6")
BRIGHT = assumed(
    "light above which more does not help", 2000.0, "lux", 1000.0, 3000.0,
    "top of the range for detailed inspection (R6); glare beyond",
)  # fmt: skip
LENS = assumed(
    "magnification above which more does not help", 10.0, "x", 4.0, 20.0,
    "a hand lens or stand magnifier; beyond, the field is too small",
)  # fmt: skip

CONSTANTS = (AMOUNT, SEEN, LIGHT, BRIGHT, LENS)


def chance_of_seeing(
    ug_per_cm2: Any, light_lux: Any, magnification: Any, ops: Operations = SCALAR
) -> Any:
    """Return the chance that soil is seen, 0 to 1.

    Parameters
    ----------
    ug_per_cm2 : float or array
        Soil on the place, at least 0.
    light_lux : float or array
        Light on the inspection place, lux.
    magnification : float or array
        1 for the unaided eye.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        Rising in each of the three.
    """
    scale = -ops.log(1.0 - SEEN.value) / AMOUNT.value
    light = ops.minimum(light_lux, BRIGHT.value) / LIGHT.value
    lens = ops.minimum(magnification, LENS.value)
    return -ops.expm1(-scale * ug_per_cm2 * light**0.5 * lens)
