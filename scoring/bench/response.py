"""Response: how an outcome of the whole work follows one quantity, at a site's own values.

The work is done by the book (`scoring.finishing.by_the_book`) but for the one
quantity, which runs over a range; all points are played at once in arrays. What
the answer to a question of a lesson may be, the window, comes from the same
rules as the keys.

This module loads numpy, so no trainee's page may import it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from scoring.bench.arrays import ARRAYS
from scoring.bench.outcomes import UNITS, Outcome, limit_of, outcome
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.finishing import Task, by_the_book
from scoring.instrument import Instrument
from scoring.marking.keys import quantity_key
from scoring.scenario import QuantityRule
from scoring.site import SiteValues

Over = Literal[
    "minutes", "temperature_c", "dose_ml", "loads_before", "strokes", "brush_mm", "flush_ml",
    "flush_kpa", "rinses", "wipes",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Quantity:
    """What can be varied: its unit, the step that uses it, the rule of its key, its range."""

    unit: str
    step: str
    rule: QuantityRule | None
    low: float
    high: float
    counted: bool = False


_QUANTITIES: dict[Over, _Quantity] = {
    "minutes": _Quantity("min", "soak", "contact_time", 0.0, 60.0),
    "temperature_c": _Quantity("degC", "soak", "temperature", 5.0, 65.0),
    "dose_ml": _Quantity("mL", "soak", "dose", 0.0, 100.0),
    "loads_before": _Quantity("sets", "soak", None, 0.0, 12.0, counted=True),
    "strokes": _Quantity("strokes", "brush", "strokes", 0.0, 30.0, counted=True),
    "brush_mm": _Quantity("mm", "brush", "brush_width", 0.0, 8.0),
    "flush_ml": _Quantity("mL", "flush", "flush_volume", 0.0, 300.0),
    "flush_kpa": _Quantity("kPa", "flush", "flush_pressure", 0.0, 400.0),
    "rinses": _Quantity("rinses", "rinse", "rinses", 0.0, 6.0, counted=True),
    "wipes": _Quantity("wipes", "wipe", None, 0.0, 30.0, counted=True),
}

_OF_EACH_LUMEN: tuple[QuantityRule, ...] = ("brush_width", "flush_pressure")
"""Rules whose key follows the lumen: several lumens may want different things."""

USUAL_SOIL: dict[str, float] = {"fresh": 100.0, "dried": 100.0, "fat": 20.0, "mineral": 3.0}
"""ug/cm2 on every place: the soil that the bench is calibrated on (assumption; see its README)."""


@dataclass(frozen=True, slots=True)
class Response:
    """One curve.

    Attributes
    ----------
    outcome : Outcome
    over : Over
    x, y : array of float
        The quantity, in `x_unit`, and the outcome, in `y_unit`; one shape.
    x_unit, y_unit : str
    window : tuple of float or None
        From where to where the site's own rule calls the quantity right, in every
        lumen that it is for; None when no one value is right in all of them.
    limit : float or None
        The site's limit for the outcome.
    """

    outcome: Outcome
    over: Over
    x: NDArray[np.float64]
    y: NDArray[np.float64]
    x_unit: str
    y_unit: str
    window: tuple[float, float] | None
    limit: float | None


def response(
    which: Outcome,
    over: Over,
    site: SiteValues,
    instrument: Instrument,
    *,
    bath_l: float = 10.0,
    soil: Mapping[str, float] | None = None,
    settings: Mapping[str, Any] | None = None,
    span: tuple[float, float] | None = None,
    points: int = 121,
) -> Response:
    """Return how `which` follows `over` when all else is done by the book.

    Parameters
    ----------
    which : Outcome
        What is looked at, at the end of the whole work.
    over : Over
        The quantity that runs over a range.
    site : SiteValues
        The department's own values, its window and its limit.
    instrument : Instrument
    bath_l : float
        Water in the bath, litres, above 0.
    soil : mapping of str to float, optional
        ug/cm2 on every place by kind of soil; `USUAL_SOIL` when left out.
    settings : mapping, optional
        Other settings of `Handling` that are not by the book, for every step.
    span : tuple of float, optional
        First and last value of the quantity. When left out, a usual range that
        holds the site's window.
    points : int
        How many points, at least 2. Strokes, rinses and the like come in whole numbers.

    Returns
    -------
    Response

    Raises
    ------
    ValueError
        No step of this instrument's work uses the quantity, the span is empty, runs
        backwards or holds fewer than two points, or a kind of soil is not known.
    """
    quantity = _QUANTITIES[over]
    tasks = by_the_book(instrument, site, bath_l)
    used = any(task.step == quantity.step for task in tasks)
    lumens = any(place.kind == "lumen" for place in instrument.places.values())
    if not used or (over == "brush_mm" and not lumens):
        raise ValueError(
            f"no step of the work on {instrument.id!r} uses {over}; "
            "choose another quantity or another instrument"
        )
    window = _window(quantity, tasks, instrument, site)
    x = _points(quantity, span, window, points)
    state = _soiled(instrument, USUAL_SOIL if soil is None else soil)
    for task in tasks:
        handling = task.handling.changed(**(settings or {}))
        if task.step == quantity.step:
            handling = handling.changed(**{over: x})
        state = run_step(task.step, state, handling, instrument, site, ARRAYS)
    y = np.broadcast_to(outcome(which, state, instrument, ARRAYS), x.shape).astype(float)
    return Response(which, over, x, y, quantity.unit, UNITS[which], window, limit_of(which, site))


def _window(
    quantity: _Quantity, tasks: tuple[Task, ...], instrument: Instrument, site: SiteValues
) -> tuple[float, float] | None:
    if quantity.rule is None:
        return None
    places: tuple[str | None, ...] = (None,)
    if quantity.rule in _OF_EACH_LUMEN:
        places = tuple(name for name, place in instrument.places.items() if place.kind == "lumen")
    keys = [
        quantity_key(quantity.rule, tasks[0].handling, instrument, site, place) for place in places
    ]
    low, high = max(key.low for key in keys), min(key.high for key in keys)
    return (low, high) if low <= high else None


def _points(
    quantity: _Quantity,
    span: tuple[float, float] | None,
    window: tuple[float, float] | None,
    points: int,
) -> NDArray[np.float64]:
    low, high = span or (quantity.low, max(quantity.high, 1.5 * window[1] if window else 0.0))
    if low >= high or points < 2:
        raise ValueError(f"a curve from {low:g} to {high:g} in {points} points has no length")
    if not quantity.counted:
        return np.linspace(low, high, points)
    whole = np.arange(np.ceil(low), np.floor(high) + 1.0)
    if whole.size < 2:
        raise ValueError(f"a curve from {low:g} to {high:g} in whole numbers has no length")
    return whole


def _soiled(instrument: Instrument, per_cm2: Mapping[str, float]) -> State:
    unknown = sorted(set(per_cm2) - set(SOIL_KINDS))
    if unknown:
        raise ValueError(
            f"no soil is called {', '.join(unknown)}; known are {', '.join(SOIL_KINDS)}"
        )
    return State(
        soil={
            name: dict.fromkeys(SOIL_KINDS, 0.0)
            | {kind: amount * place.area_cm2 for kind, amount in per_cm2.items()}
            for name, place in instrument.places.items()
        }
    )
