"""Lumens: how a brush fits, and what a flush carries off.

``left = exp(-rate(kind of soil) * mL * (bore_ref / bore)^3 * (Q / Q_ref)^0.75 * contact)``.
At the same flow the shear at the wall falls with the cube of the bore. A flush of 50 mL
without a brush left 3.99 of 335.4 ug/cm2 in an endoscope channel (C6), which sets the scale.

Q is the flow of `scoring.bench.flow`, Q_ref the flow of the same lumen alone at the
reference pressure. More pressure sweeps better, but moderately. In turbulent flow the shear
that each mL brings grows as Q^0.75; in laminar flow it does not grow at all, but slow water
also carries loosened soil off badly, so the same power is used for all (assumption).

Lumens that hang on one line share its flow by `flow.shares`. `flush_ml` is counted for each
lumen, so a line with n lumens carries n times as much: lumens of like size get what each
would have got by itself, and a fine one among wide ones gets next to nothing.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.flow import flow_ml_s, shares
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument, Place
from scoring.site import SiteValues

BORE = assumed(
    "bore of the channel that sets the scale of a flush", 3.2, "mm", 2.8, 4.2,
    "a usual endoscope channel; C6 does not give it in its abstract",
)  # fmt: skip
PRESSURE = assumed(
    "pressure that sets the scale of a flush", 20.0, "kPa", 10.0, 50.0,
    "a syringe pressed by hand without force; C6 does not give it in its abstract",
)  # fmt: skip
SWEEP = assumed(
    "power of the flow in what each mL sweeps off", 0.75, "1", 0.0, 1.0,
    "turbulent shear grows as flow^1.75 (Blasius), so for each mL as flow^0.75; 0 if laminar",
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
REACHED = assumed(
    "share of a lumen brushed when the brush does not come out at the far end", 0.7, "1", 0.5, 0.95,
    "the last part stays soiled (R7, M45); how long it is differs with every brush",
)  # fmt: skip

CONSTANTS = (BORE, PRESSURE, SWEEP, *FLUSH.values(), PASSING, NO_FIT, REACHED)

_FLUSH = values(FLUSH)
_WATER_C = 20.0
"""degC of the water in the flow: fixed, so that warmth acts through the chemistry alone."""
_STILL_KPA = 1e-3
"""kPa below which a line is taken as this: shares of no flow at all would be undefined."""


def brush_fit(brush_mm: Any, place: Place, site: SiteValues, ops: Operations) -> Any:
    """Return how well a lumen brush fits, 0 to 1.

    1 inside the site's tolerance, falling in proportion to 0 at `NO_FIT`.
    """
    bore, _ = _shape(place)
    misfit = abs(brush_mm / bore - 1.0)
    tolerance = min(site.brushing.fit_tolerance, NO_FIT.value - 0.01)
    fit = (NO_FIT.value - misfit) / (NO_FIT.value - tolerance)
    return ops.maximum(ops.minimum(fit, 1.0), 0.0)


def brushed_share(handling: Handling, ops: Operations) -> Any:
    """Return the share of a lumen's length that the strokes of its brush pass over, 0 to 1.

    What lies on the rest stays, however many the strokes: of a kind of soil
    ``1 - share * (1 - left)`` is left when `left` would be on a length brushed through.
    """
    return ops.where(handling.brush_through, 1.0, REACHED.value)


def over_pressure(place: Place, handling: Handling, ops: Operations) -> Any:
    """Return by which share the flush is above the lumen's highest pressure, at least 0.

    0.5 is half above the IFU's value. A lumen without such a value gives 0.
    """
    if place.pressure_max_kpa is None:
        return 0.0
    return ops.maximum(handling.flush_kpa / place.pressure_max_kpa - 1.0, 0.0)


def line_shares(instrument: Instrument, handling: Handling, ops: Operations) -> dict[str, Any]:
    """Return how much of `flush_ml` each lumen gets: 1 each, unless all hang on one line.

    Parameters
    ----------
    instrument : Instrument
        Its lumens count.
    handling : Handling
        `manifold` and `flush_kpa` count.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    dict of str to float or array
        By place, at least 0; their mean is 1.
    """
    lumens = {name: place for name, place in instrument.places.items() if place.kind == "lumen"}
    if len(lumens) < 2:
        return dict.fromkeys(lumens, 1.0)
    kpa = ops.maximum(handling.flush_kpa, _STILL_KPA)
    divided = shares([_shape(place) for place in lumens.values()], kpa, _WATER_C, ops)
    return {
        name: ops.where(handling.manifold, share * len(lumens), 1.0)
        for name, share in zip(lumens, divided, strict=True)
    }


def left_after_flush(
    place: Place, handling: Handling, ops: Operations, line_share: Any = 1.0
) -> dict[str, Any]:
    """Return the share of each kind of soil left in a lumen after the flush, 0 to 1.

    Parameters
    ----------
    place : Place
        The lumen.
    handling : Handling
        `flush_ml`, `flush_kpa` and `lumen_filled` count.
    ops : Operations
        Scalar or array operations.
    line_share : float or array
        From `line_shares`: this lumen's part of the water, and so of the flow.

    Returns
    -------
    dict of str to float or array
        By kind of soil.
    """
    bore, length = _shape(place)
    at_reference = flow_ml_s(bore, length, PRESSURE.value, _WATER_C, ops)
    flowing = flow_ml_s(bore, length, handling.flush_kpa, _WATER_C, ops) / at_reference
    # A wide lumen on the line is not swept better for it: the pressure is the line's.
    swept = (flowing * ops.minimum(line_share, 1.0)) ** SWEEP.value
    swept = swept * ops.where(handling.lumen_filled, 1.0, PASSING.value)
    volume = handling.flush_ml * line_share * (BORE.value / bore) ** 3 * swept
    return {kind: ops.exp(-rate * volume) for kind, rate in _FLUSH.items()}


def _shape(place: Place) -> tuple[float, float]:
    if place.bore_mm is None or place.length_mm is None:
        raise ValueError(f"only a lumen has a bore and a length, not a {place.kind}")
    return place.bore_mm, place.length_mm
