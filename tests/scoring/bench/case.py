"""A normally soiled instrument, work as it should be done, and each mistake alone.

The soil is the one that the bench's README says it is calibrated on.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from scoring.bench.handling import Handling
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.instrument import Instrument
from scoring.library import Library
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

ROOT = Path(__file__).resolve().parents[3]
INSTRUMENTS = ("clamp", "needle_holder", "rongeur", "suction_tube")
WORK = ("soak", "brush", "flush", "rinse")

# At 10 L, 5 mL per litre, 40 degC at most: the shipped site with three bays.
GOOD: dict[str, Any] = {
    "agent": "enzymatic_cleaner", "bath_l": 10.0, "dose_ml": 50.0, "temperature_c": 38.0,
    "minutes": 12.0, "opened": True, "brush": "soft_nylon", "brush_mm": 4.0, "strokes": 10.0,
    "inner_joint": True, "flush_ml": 50.0, "rinses": 2.0, "rinse_l": 8.0, "last_water": "treated",
}  # fmt: skip


@cache
def site(name: str = "invented-three-bays") -> SiteValues:
    return read_yaml(ROOT / "lessons" / "sites" / f"{name}.yaml", SiteValues)


@cache
def instrument(name: str) -> Instrument:
    return Library([], ROOT / "lessons" / "instruments").instrument(name)


def handled(**changes: Any) -> Handling:
    return Handling(**{**GOOD, **changes})


def soiled(name: str, fresh: float = 300.0, dried: float = 300.0, **more: float) -> State:
    soil = {
        place: dict.fromkeys(SOIL_KINDS, 0.0) | {"fresh": fresh, "dried": dried} | more
        for place in instrument(name).places
    }
    for place, shape in instrument(name).places.items():
        if shape.kind == "lumen":
            # 4500 ug of each over the 27.6 cm2 of the suction tube: about the 335 ug/cm2 of an
            # uncleaned channel (C6).
            wider = 15.0 * shape.area_cm2 / 27.6
            soil[place].update(fresh=fresh * wider, dried=dried * wider)
    return State(soil=soil)


def played(
    name: str, handling: Handling, state: State | None = None, steps: tuple[str, ...] = WORK
) -> State:
    state = soiled(name, fat=60.0, mineral=10.0) if state is None else state
    for step in steps:
        state = run_step(step, state, handling, instrument(name), site())
    return state


def worst_protein(name: str, state: State) -> float:
    """Protein on the worst place, ug/cm2."""
    return max(
        state.protein_ug(place) / shape.area_cm2 for place, shape in instrument(name).places.items()
    )


def total(state: State) -> float:
    return sum(state.total_ug(place) for place in state.soil)
