"""Lumens: how a brush fits, and what a flush carries off.

``left = exp(-rate(kind of soil) * mL * (bore_ref / bore)^3 * contact)``: at the
same flow the shear at the wall falls with the cube of the bore. A flush of 50 mL without a brush
left 3.99 of 335.4 ug/cm2 in an endoscope channel (C6), which sets the scale. Above
a Reynolds number of about 2300 the shear is no longer that of laminar flow, so the
power is a direction, not a law.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Place
from scoring.site import SiteValues

BORE = assumed(
    "bore of the channel that sets the scale of a flush", 3.2, "mm", 2.8, 4.2,
    "a usual endoscope channel; C6 does not give it in its abstract",
)  # fmt: skip
FLUSH = {
    "fresh": Constant(
        "fresh protein off with each mL through the reference bore", 0.0886, "1/mL", 0.06, 0.12,
        "C6: ln(335.4 / 3.99) / 50 mL", "calculated",
    ),
    "dried": assumed(
        "dried protein off with each mL", 0.01, "1/mL", 0.002, 0.03, "flow without friction; B1"
    ),
    "fixed": assumed("fixed protein off with each mL", 0.0, "1/mL", 0.0, 0.002, "B14, B17"),
    "fat": assumed("fat off with each mL", 0.01, "1/mL", 0.002, 0.03, "flow without friction"),
    "mineral": assumed(
        "mineral off with each mL", 0.01, "1/mL", 0.002, 0.03, "flow without friction"
    ),
    "bone": assumed("bone off with each mL", 0.02, "1/mL", 0.005, 0.05, "loose grains float off"),
}  # fmt: skip
PASSING = assumed(
    "share of a lumen's wall swept although it holds air", 0.3, "1", 0.1, 0.6,
    "the stream takes the easy way round the bubble (T9)",
)  # fmt: skip
NO_FIT = assumed(
    "misfit of a brush, as a share of the bore, at which it touches nothing", 0.3, "1", 0.2, 0.5,
    "thinner, it slides through; thicker, it does not go in (R7, M44)",
)  # fmt: skip

CONSTANTS = (BORE, *FLUSH.values(), PASSING, NO_FIT)

_FLUSH = values(FLUSH)


def brush_fit(brush_mm: Any, place: Place, site: SiteValues, ops: Operations) -> Any:
    """Return how well a lumen brush fits, 0 to 1.

    1 inside the site's tolerance, falling in proportion to 0 at `NO_FIT`.
    """
    bore = place.bore_mm or BORE.value
    misfit = abs(brush_mm / bore - 1.0)
    tolerance = min(site.brushing.fit_tolerance, NO_FIT.value - 0.01)
    fit = (NO_FIT.value - misfit) / (NO_FIT.value - tolerance)
    return ops.maximum(ops.minimum(fit, 1.0), 0.0)


def left_after_flush(place: Place, handling: Handling, ops: Operations) -> dict[str, Any]:
    """Return the share of each kind of soil left in a lumen after the flush, 0 to 1."""
    bore = place.bore_mm or BORE.value
    swept = ops.where(handling.lumen_filled, 1.0, PASSING.value)
    volume = handling.flush_ml * (BORE.value / bore) ** 3 * swept
    return {kind: ops.exp(-rate * volume) for kind, rate in _FLUSH.items()}
