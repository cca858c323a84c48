"""Outcomes: the figures of a state that are compared, plotted and held to a limit."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from scoring.bench.operations import SCALAR, Operations
from scoring.bench.state import State
from scoring.instrument import Instrument
from scoring.site import SiteValues

Outcome = Literal[
    "protein", "bone", "residue_mg", "ions_mg", "endotoxin_eu", "droplets", "exposure", "damage",
    "inside_ml", "water_ml", "oil_mg", "stiff",
]  # fmt: skip
"""Of the worst place protein and bone, ug/cm2; else the field of `State` of that name.
``stiff`` is 1 for dry joints and 0 for joints that move freely."""

UNITS: dict[Outcome, str] = {
    "protein": "ug/cm2", "bone": "ug/cm2", "residue_mg": "mg", "ions_mg": "mg",
    "endotoxin_eu": "EU", "droplets": "relative count", "exposure": "relative count",
    "damage": "1", "inside_ml": "mL", "water_ml": "mL", "oil_mg": "mg", "stiff": "1",
}  # fmt: skip


def outcome(which: Outcome, state: State, instrument: Instrument, ops: Operations = SCALAR) -> Any:
    """Return one outcome of a state, in the unit of `UNITS`.

    Parameters
    ----------
    which : Outcome
    state : State
    instrument : Instrument
        Its places must be those of `state`.
    ops : Operations
        Scalar or array operations, as the state needs.
    """
    if which == "protein":
        return _worst(state.protein_ug, instrument, ops)
    if which == "bone":
        return _worst(lambda name: state.soil[name]["bone"], instrument, ops)
    if which == "stiff":
        return 1.0 - state.lubricated
    return getattr(state, which)


def _worst(amount: Callable[[str], Any], instrument: Instrument, ops: Operations) -> Any:
    worst: Any = 0.0
    for name, place in instrument.places.items():
        worst = ops.maximum(worst, amount(name) / place.area_cm2)
    return worst


def limit_of(which: Outcome, site: SiteValues) -> float | None:
    """Return the site's limit for an outcome, in the unit of `UNITS`; None if it has none."""
    limits: dict[Outcome, float] = {
        "protein": site.limits.protein_ug_per_cm2,
        "bone": site.limits.protein_ug_per_cm2,
        "residue_mg": site.limits.residue_mg,
        "ions_mg": site.limits.ions_mg,
        "endotoxin_eu": site.limits.endotoxin_eu,
    }
    return limits.get(which)
