"""Temperature: faster below the site's cap; above it proteins fix and enzyme is lost.

Below the cap a rate follows Arrhenius, ``exp(-E/R (1/T - 1/T_ref))``. The cap is
the site's own value, never one of ours: published caps differ (B16, B17, R1,
R2). Above it no rate rises any further, an enzyme's action falls as
``exp(-loss (T - cap))``, and protein fixes at ``fix (T - cap)`` per minute.
"""

from __future__ import annotations

from typing import Any, Literal

from scoring.bench.constants import Constant, assumed
from scoring.bench.operations import Operations

REFERENCE = assumed(
    "temperature at which the rates hold", 40.0, "degC", 30.0, 45.0,
    "lukewarm (T2); the soak that the rates are fitted to (B4) does not give its own",
)  # fmt: skip
ACTIVATION = {
    "protein": assumed(
        "activation energy, protein", 40e3, "J/mol", 25e3, 60e3,
        "usual for enzymes and wetting: about 1.7 times for 10 degC",
    ),
    "fat": assumed(
        "activation energy, fat", 90e3, "J/mol", 50e3, 150e3,
        "stands for melting: below about 25 degC fat stays (T2)",
    ),
    "mineral": assumed(
        "activation energy, mineral", 50e3, "J/mol", 20e3, 80e3,
        "cold water leaves minerals (T2)",
    ),
}  # fmt: skip
LOSS = assumed(
    "loss of enzyme action for each degree above the cap", 0.2, "1/K", 0.05, 0.5,
    "a third left 5 degC above the cap; direction from T2 and R2",
)  # fmt: skip
FIX = assumed(
    "fixing of protein for each degree above the cap", 0.006, "1/(min K)", 0.001, 0.02,
    "a quarter fixed in 10 min at 5 degC above the cap; direction from B16 and B17",
)  # fmt: skip
GAS = Constant(
    "gas constant", 8.314462618, "J/(mol K)", 8.314462618, 8.314462618,
    "SI definition of 2019, the product of two exact constants", "memory",
)  # fmt: skip

CONSTANTS = (REFERENCE, *ACTIVATION.values(), LOSS, FIX, GAS)

_ZERO_C = 273.15
"""0 degC in kelvin, exact by definition of the Celsius scale (SI; memory)."""


def arrhenius_ratio(energy: float, celsius: Any, reference: float, ops: Operations) -> Any:
    """Return the rate at `celsius` over the rate at `reference`: the law of Arrhenius.

    Parameters
    ----------
    energy : float
        Activation energy, J/mol, at least 0.
    celsius : float or ndarray
        Temperature, degC.
    reference : float
        Temperature of the rate compared with, degC.
    ops : Operations
        Of floats or of arrays.
    """
    return ops.exp(-energy / GAS.value * (1 / (celsius + _ZERO_C) - 1 / (reference + _ZERO_C)))


def arrhenius(
    what: Literal["protein", "fat", "mineral"], celsius: Any, cap: float, ops: Operations
) -> Any:
    """Return the temperature factor of a rate: 1 at the reference, flat above the cap.

    Parameters
    ----------
    what : str
        The soil whose removal is meant.
    celsius : float or ndarray
        Temperature of the bath, degC.
    cap : float
        Above this a label promises nothing more, degC.
    ops : Operations
        Of floats or of arrays.
    """
    at = ops.minimum(celsius, cap)
    return arrhenius_ratio(ACTIVATION[what].value, at, REFERENCE.value, ops)


def enzyme_left(celsius: Any, cap: float, ops: Operations) -> Any:
    """Return the share of the enzyme's action that is left, 0 to 1."""
    return ops.exp(-LOSS.value * ops.maximum(celsius - cap, 0.0))


def fixing_by_heat(celsius: Any, cap: float, ops: Operations) -> Any:
    """Return how fast protein fixes by heat, 1/min, 0 up to the cap."""
    return FIX.value * ops.maximum(celsius - cap, 0.0)
