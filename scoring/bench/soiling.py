"""Soiling: the two ways in which cleaning puts soil back.

A used bath: what lifts the instrument out lifts a film of bath with it, and the
film holds the soil of the sets before::

    film = carried volume * sets * soil of a set / bath volume

It lies on every place by area and by how far the bath reached. It does not
depend on the time in the bath, so more time never leaves more. Each lifting
out takes one film along.

A brush that was not cleaned: with each stroke the place moves towards what the
brush itself holds, ``F_n = S + (F_0 - S) exp(-k n)``. No place ends above the
larger of the two, and all places together get at most the stock of the brush.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.constants import assumed
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations
from scoring.instrument import Instrument, Place

SET = assumed(
    "soil that one set leaves in the bath", 40000.0, "ug", 5000.0, 500000.0,
    "some forty instruments at 1000 ug each; medians in use were 163 to 756 ug after cleaning (C1)",
)  # fmt: skip
STOCK = assumed(
    "soil on a brush that was not cleaned", 2000.0, "ug", 200.0, 20000.0,
    "about two heavily soiled places of one instrument; direction from T13 and M43",
)  # fmt: skip

CONSTANTS = (SET, STOCK)


def film_ug(place: Place, handling: Handling, instrument: Instrument, reached: Any) -> Any:
    """Return the soil that the film of a used bath leaves on a place, micrograms.

    Parameters
    ----------
    place : Place
        One of the instrument's.
    handling : Handling
        `loads_before` and `bath_l` count.
    instrument : Instrument
        Its carried volume and whole area.
    reached : float or array
        Share of the place that the bath reaches, 0 to 1.

    Returns
    -------
    float or array
        Over all places together never more than the film holds.
    """
    per_ml = handling.loads_before * SET.value / (handling.bath_l * 1000.0)
    return instrument.carried_ml * per_ml * _area_share(place, instrument) * reached


def brush_level_ug(
    place: Place, handling: Handling, instrument: Instrument, ops: Operations
) -> Any:
    """Return the soil towards which the brush itself moves a place, micrograms."""
    level = STOCK.value * _area_share(place, instrument)
    return ops.where(handling.brush_clean, 0.0, level)


def _area_share(place: Place, instrument: Instrument) -> float:
    return place.area_cm2 / sum(other.area_cm2 for other in instrument.places.values())
