"""The reference plays: right work and single mistakes, to look at the bench with.

Each is one way of working on one of the instruments of `scoring.bench.reference`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, get_args

from scoring.bench.handling import Handling
from scoring.bench.outcomes import Outcome, outcome
from scoring.bench.reference import (
    CANNULAS,
    DRILL,
    FORCEPS,
    HINGED,
    RIGHT,
    TUBE,
    run,
    soil,
)
from scoring.bench.state import State
from scoring.instrument import Instrument

_START: dict[str, dict[str, float]] = {
    "hinged": {"fresh": 100, "dried": 100},
    "forceps": {"fresh": 100, "dried": 100},
    "tube": {"fresh": 335, "dried": 335},
    "cannulas": {"fresh": 335, "dried": 335},
    "drill": {"fresh": 50, "dried": 5, "fixed": 1},
}
"""ug/cm2 on every place: a lumen as C6 found it, and as much again dried; a drill soiled lightly,
as a cloth must do."""

_SINK = ("dry", "soak", "brush", "flush", "rinse", "dry_off", "lubricate")
_CLOTH = ("wipe",)


@dataclass(frozen=True, slots=True)
class Play:
    """One way of working on one instrument.

    Attributes
    ----------
    name : str
        In words.
    instrument : Instrument
    changes : mapping
        What differs from `scoring.bench.reference.RIGHT`.
    harm : Outcome or None
        What this mistake makes worse; None for work as it should be done.
    steps : tuple of str
    waited : float
        Minutes of drying before.
    moist : bool
        Whether it was kept moist meanwhile.
    """

    name: str
    instrument: Instrument
    changes: Mapping[str, Any] = field(default_factory=dict)
    harm: Outcome | None = None
    steps: tuple[str, ...] = _SINK
    waited: float = 60.0
    moist: bool = False

    def end(self) -> dict[Outcome, float]:
        """Return what it ends with."""
        return self.outcomes(self.state())

    def outcomes(self, state: State) -> dict[Outcome, float]:
        """Return the outcomes of a state of this play's instrument."""
        names: tuple[Outcome, ...] = get_args(Outcome)
        return {which: float(outcome(which, state, self.instrument)) for which in names}

    def state(self) -> State:
        """Return the state at the end."""
        handling = RIGHT.changed(**self.changes)
        state = soil(self.instrument, **_START[self.instrument.id], fat=10, mineral=3, bone=3)
        for step in self.steps:
            now = handling
            if step == "dry":
                now = Handling(minutes=self.waited, moist=self.moist, saline=handling.saline)
            state = run((step,), state, now, self.instrument)
        return state


_MACHINE = ("dry", "machine", "dry_off")

PLAYS: tuple[Play, ...] = (
    Play("hinged: right", HINGED),
    Play("hinged: no brush", HINGED, {"brush": "none"}, "protein"),
    Play("hinged: worn brush", HINGED, {"brush": "worn"}, "protein"),
    Play("hinged: household brush", HINGED, {"brush": "household"}, "protein"),
    Play("hinged: metal brush", HINGED, {"brush": "metal"}, "damage"),
    Play("hinged: brush not cleaned", HINGED, {"brush_clean": False}, "protein"),
    Play("hinged: closed", HINGED, {"opened": False}, "protein"),
    Play("hinged: joint from outside only", HINGED, {"inner_joint": False}, "protein"),
    Play("hinged: piled", HINGED, {"one_layer": False}, "protein"),
    Play("hinged: half out of the bath", HINGED, {"immersed": False}, "protein"),
    Play("hinged: cold bath", HINGED, {"temperature_c": 12.0}, "protein"),
    Play("hinged: hot bath", HINGED, {"temperature_c": 52.0}, "protein"),
    Play("hinged: weak dose", HINGED, {"dose_ml": 20.0}, "protein"),
    Play("hinged: strong dose", HINGED, {"dose_ml": 100.0}, "residue_mg"),
    Play("hinged: two chemicals", HINGED, {"mixed": True}, "residue_mg"),
    Play("hinged: used bath", HINGED, {"loads_before": 6.0}, "protein"),
    Play("hinged: short soak", HINGED, {"minutes": 2.0}, "protein"),
    Play("hinged: a night in the bath", HINGED, {"minutes": 720.0}, "damage"),
    *(
        Play(f"hinged: {label}", HINGED, {"agent": agent, "dose_ml": dose}, "protein")
        for agent, label, dose in (
            ("plain_water", "plain water", 0.0), ("hand_soap", "hand soap", 50.0),
            ("aldehyde", "aldehyde", 50.0), ("oxidiser", "oxidiser", 50.0),
            ("neutral_detergent", "detergent without enzyme", 50.0),
        )
    ),
    Play("hinged: alkaline cleaner, right", HINGED, {"agent": "alkaline_cleaner"}),
    Play("hinged: a weekend dry", HINGED, harm="protein", waited=3000.0),
    Play("hinged: kept moist, right", HINGED, waited=120.0, moist=True),
    Play("hinged: kept in saline", HINGED, {"saline": True}, "damage", waited=120.0),
    Play("hinged: one rinse", HINGED, {"rinses": 1.0}, "residue_mg"),
    Play("hinged: rinsed closed", HINGED, {"opened": False}, "residue_mg"),
    Play("hinged: a trickle", HINGED, {"rinse_way": "trickle"}, "residue_mg"),
    Play("hinged: running water, right", HINGED, {"rinse_way": "running"}),
    Play("hinged: tap water last", HINGED, {"last_water": "tap"}, "ions_mg"),
    Play("hinged: stale water last", HINGED, {"last_water": "stale"}, "endotoxin_eu"),
    Play("hinged: above the surface", HINGED, {"under_water": False}, "droplets"),
    Play("hinged: above, towards the body", HINGED, {"under_water": False, "towards_body": True},
         "exposure"),
    Play("hinged: above, no protection", HINGED,
         {"under_water": False, "eyes_covered": False, "mask_on": False, "gown_on": False,
          "gloves_thick": False}, "exposure"),
    Play("hinged: mineral oil", HINGED, {"lubricant": "oil"}, "oil_mg"),
    Play("hinged: lubricated before the rinse", HINGED, harm="stiff",
         steps=("soak", "brush", "lubricate", "rinse")),
    Play("hinged: saline not rinsed off", HINGED, {"saline": True}, "ions_mg", steps=("dry",)),
    Play("hinged: washer straight after the soak", HINGED, {"machine": "washer"}, "protein",
         steps=("soak", "machine")),
    Play("hinged: left wet", HINGED, {"dry_way": "none"}, "water_ml"),
    Play("hinged: dried by cloth, right", HINGED, {"dry_way": "cloth"}),
    Play("hinged: ultrasonic bath alone", HINGED, {"machine": "ultrasonic"}, "protein",
         steps=_MACHINE),
    Play("hinged: washer alone", HINGED, {"machine": "washer"}, "protein", steps=_MACHINE),
    Play("hinged: piled in the washer", HINGED, {"machine": "washer", "one_layer": False,
         "opened": False}, "protein", steps=_MACHINE),
    Play("hinged: cloth instead of the sink", HINGED, {"opened": False}, "protein", steps=_CLOTH),
    Play("forceps: right", FORCEPS),
    Play("forceps: not held", FORCEPS, {"supported": False}, "damage"),
    Play("forceps: household brush", FORCEPS, {"brush": "household"}, "damage"),
    Play("forceps: heavy things on top", FORCEPS, {"heavy_on_top": True}, "damage"),
    Play("forceps: ultrasonic bath", FORCEPS, {"machine": "ultrasonic"}, "damage",
         steps=("soak", "brush", "machine")),
    Play("tube: right", TUBE),
    Play("tube: no lumen brush", TUBE, {"brush_mm": 0.0}, "protein"),
    Play("tube: brush too thin", TUBE, {"brush_mm": 2.6}, "protein"),
    Play("tube: brush not through", TUBE, {"brush_through": False}, "protein"),
    Play("tube: air inside", TUBE, {"lumen_filled": False}, "protein"),
    Play("tube: flushed alone, little", TUBE, {"brush_mm": 0.0, "flush_ml": 20.0}, "protein"),
    Play("tube: flushed alone, softly", TUBE, {"brush_mm": 0.0, "flush_ml": 20.0,
         "flush_kpa": 4.0}, "protein"),
    Play("tube: over the pressure", TUBE, {"flush_kpa": 400.0}, "damage"),
    Play("tube: far end up", TUBE, {"far_end_under": False}, "droplets"),
    Play("tube: washer alone", TUBE, {"machine": "washer"}, "protein", steps=_MACHINE),
    Play("tube: dried outside only", TUBE, {"dry_way": "cloth"}, "water_ml"),
    Play("cannulas: right", CANNULAS, {"brush_mm": 2.5}),
    Play("cannulas: one line for all", CANNULAS, {"brush_mm": 2.5, "manifold": True}, "protein"),
    Play("drill: right", DRILL, {"agent": "enzymatic_cleaner"}, steps=("wipe", "brush", "wipe")),
    Play("drill: immersed", DRILL, harm="damage"),
    Play("drill: washer", DRILL, {"machine": "washer"}, "damage", steps=("machine",)),
    Play("drill: dry cloth", DRILL, {"cloth": "dry"}, "protein", steps=_CLOTH),
    Play("drill: dripping cloth", DRILL, {"cloth": "dripping"}, "inside_ml", steps=_CLOTH),
    Play("drill: openings not closed", DRILL, {"ports_closed": False}, "inside_ml", steps=_CLOTH),
    Play("drill: dripping, openings not closed", DRILL,
         {"cloth": "dripping", "ports_closed": False}, "inside_ml", steps=_CLOTH),
    Play("drill: held under the tap, open", DRILL, {"immersed": False, "ports_closed": False},
         "inside_ml", steps=("rinse",)),
    *(
        Play(f"drill: cloth with {agent}", DRILL, {"cloth_agent": agent}, "protein", steps=_CLOTH)
        for agent in ("aldehyde", "oxidiser")
    ),
    Play("drill: cloth with cleaner", DRILL, {"cloth_agent": "enzymatic_cleaner"}, "residue_mg",
         steps=_CLOTH),
)  # fmt: skip
"""The reference plays. The first of an instrument is its right one."""
