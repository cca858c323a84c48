"""Instruments, site values and soil that the bench is looked at with, by itself.

They belong to no department and to no scenario: the anchors and the sensitivity
table need something that stays the same when a department's values change.
"""

from __future__ import annotations

from typing import Any

from scoring.bench.handling import Handling
from scoring.bench.operations import SCALAR, Operations
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.instrument import Instrument
from scoring.site import SiteValues

_WHY = "Invented to look at the bench with; no department's value."

SITE = SiteValues.model_validate(
    {
        "schema_version": 1,
        "id": "reference",
        "name": "Reference values of the bench",
        "cleaner": {
            "label": "invented", "dose_ml_per_l": 5, "dose_tolerance": 0.1, "contact_min": 10,
            "contact_max": 30, "temperature_min_c": 30, "temperature_max_c": 40, "source": _WHY,
        },
        "rinse": {
            "tap_min": 2, "tap_max": 3, "litres": 8, "bays": 3, "tap_salts_mg_per_l": 180,
            "treated_salts_mg_per_l": 5, "tap_endotoxin_eu_per_ml": 15,
            "treated_endotoxin_eu_per_ml": 0.25, "source": _WHY,
        },
        "brushing": {
            "strokes_min": 10, "strokes_max": 20, "fit_tolerance": 0.1, "source": _WHY,
        },
        "flushing": {"ml_min": 50, "ml_max": 150, "source": _WHY},
        "inspection": {
            "light_min_lux": 1000, "light_max_lux": 2000, "magnification": 4, "source": _WHY,
        },
        "limits": {
            "protein_ug_per_cm2": 3, "residue_mg": 1, "ions_mg": 0.5, "endotoxin_eu": 20,
            "source": "Protein: the alert value of L1. The others: " + _WHY,
        },
        "passing": {"cut": 0.8, "expiry_months": 12, "source": _WHY},
    }
)  # fmt: skip


def _instrument(name: str, carried_ml: float, **places: dict[str, Any]) -> Instrument:
    return Instrument.model_validate(
        {
            "schema_version": 1,
            "id": name,
            "drawing": name,
            "carried_ml": carried_ml,
            "immersible": name != "drill",
            "delicate": name == "forceps",
            "places": places,
        }
    )


COUPON = _instrument(
    "coupon", 1.0, front={"kind": "flat", "area_cm2": 10}, back={"kind": "flat", "area_cm2": 10}
)
HINGED = _instrument(
    "hinged", 6.0,
    jaw={"kind": "serration", "area_cm2": 3},
    cup={"kind": "texture", "area_cm2": 3},
    joint={"kind": "joint", "area_cm2": 3.5},
    ratchet={"kind": "ratchet", "area_cm2": 2.5},
    shank={"kind": "flat", "area_cm2": 10},
)  # fmt: skip
FORCEPS = _instrument(
    "forceps", 1.0, tip={"kind": "serration", "area_cm2": 1}, arm={"kind": "flat", "area_cm2": 7}
)
TUBE = _instrument(
    "tube", 6.0,
    # pi * 0.32 cm * 22 cm = 22.1 cm2, of the bore that the flush is scaled on
    lumen={"kind": "lumen", "area_cm2": 22.1, "bore_mm": 3.2, "length_mm": 220,
           "pressure_max_kpa": 200},
    outside={"kind": "flat", "area_cm2": 32},
)  # fmt: skip
CANNULAS = _instrument(
    "cannulas", 5.0,
    # pi * 0.25 cm * 12 cm = 9.4 cm2; pi * 0.1 cm * 12 cm = 3.8 cm2
    wide={"kind": "lumen", "area_cm2": 9.4, "bore_mm": 2.5, "length_mm": 120,
          "pressure_max_kpa": 200},
    fine={"kind": "lumen", "area_cm2": 3.8, "bore_mm": 1.0, "length_mm": 120,
          "pressure_max_kpa": 200},
)  # fmt: skip
DRILL = _instrument(
    "drill", 6.0,
    housing={"kind": "flat", "area_cm2": 180},
    grip={"kind": "texture", "area_cm2": 90},
    chuck={"kind": "thread", "area_cm2": 12},
)  # fmt: skip

RIGHT = Handling(
    agent="enzymatic_cleaner", bath_l=10.0, dose_ml=50.0, temperature_c=38.0, minutes=12.0,
    opened=True, brush="soft_nylon", brush_mm=3.2, strokes=12.0, inner_joint=True, flush_ml=50.0,
    rinses=3.0, rinse_l=8.0, last_water="treated", dry_way="air", cloth="damp", wipes=12.0,
    lubricant="water_soluble", eyes_covered=True, gloves_thick=True, gown_on=True, mask_on=True,
)  # fmt: skip
"""Work as it should be done under `SITE`, in 10 L, on the tube."""


def soil(instrument: Instrument, **per_cm2: float) -> State:
    """Return an instrument with the same soil everywhere, ug/cm2 by kind."""
    return State(
        soil={
            name: dict.fromkeys(SOIL_KINDS, 0.0)
            | {kind: amount * place.area_cm2 for kind, amount in per_cm2.items()}
            for name, place in instrument.places.items()
        }
    )


def only(instrument: Instrument, **by_place: dict[str, float]) -> State:
    """Return an instrument with soil on these places alone, ug by kind."""
    return State(
        soil={
            name: dict.fromkeys(SOIL_KINDS, 0.0) | by_place.get(name, {})
            for name in instrument.places
        }
    )


def run(
    steps: tuple[str, ...],
    state: State,
    handling: Handling,
    instrument: Instrument,
    site: SiteValues = SITE,
    ops: Operations = SCALAR,
) -> State:
    """Return the state after these steps, one after the other, with one handling.

    Parameters
    ----------
    steps : tuple of str
        Names that `scoring.bench.steps.run_step` knows.
    state : State
        Before.
    handling : Handling
        Every setting, the same for all steps.
    instrument : Instrument
        Its places must be those of `state`.
    site : SiteValues
        The limits; those of this module unless given.
    ops : Operations
        Scalar or array operations.
    """
    for step in steps:
        state = run_step(step, state, handling, instrument, site, ops)
    return state
