"""How the instrument is being handled: every setting that a decision can change.

:class:`Handling` is the one list of these settings, with unit, range and
meaning; the part of a scenario file that changes them is checked against it.
A new effect that needs a new setting adds one field here.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

from pydantic import Field, create_model

from scoring.model import Model

Agent = Literal[
    "enzymatic_cleaner", "alkaline_cleaner", "neutral_detergent", "aldehyde", "oxidiser",
    "plain_water", "hand_soap",
]  # fmt: skip
Brush = Literal["none", "soft_nylon", "worn", "metal", "household"]
Water = Literal["treated", "stale", "tap", "none"]
"""``stale`` is treated water out of a tank that nobody emptied as the rules say."""
RinseWay = Literal["fill", "running", "trickle"]
"""Drain closed and filled; drain closed and running over; drain open."""
Lubricant = Literal["none", "water_soluble", "oil"]
DryWay = Literal["none", "cloth", "air"]
"""Left wet; lint-free cloth outside; cloth outside and air through every lumen."""
Cloth = Literal["none", "dry", "damp", "dripping"]
Machine = Literal["none", "ultrasonic", "washer"]


def _setting(default: Any, meaning: str, *, unit: str = "", low: float = 0, high: float = 0) -> Any:
    return field(
        default=default, metadata={"meaning": meaning, "unit": unit, "low": low, "high": high}
    )


@dataclass(frozen=True, slots=True)
class Handling:
    """Every setting of the bench, with the value it has until a decision sets it.

    Numbers may be arrays of one shape when many trajectories are played at once.
    """

    agent: Agent = _setting("plain_water", "what is in the bath")  # noqa: RUF009
    dose_ml: float = _setting(0.0, "concentrate in the bath", unit="mL", high=5000)
    bath_l: float = _setting(10.0, "water in the bath", unit="L", low=0.5, high=100)
    temperature_c: float = _setting(20.0, "temperature of the bath", unit="degC", low=1, high=95)
    minutes: float = _setting(0.0, "how long the next step lasts", unit="min", high=10080)
    loads_before: float = _setting(0.0, "sets cleaned in this bath before", unit="sets", high=50)
    opened: bool = _setting(False, "joints open and parts apart")
    one_layer: bool = _setting(True, "in one layer, nothing shadowed")
    immersed: bool = _setting(True, "wholly under the surface")
    mixed: bool = _setting(False, "a second chemical poured into the bath")
    moist: bool = _setting(False, "kept moist while waiting")
    saline: bool = _setting(False, "saline used to keep it moist")
    heavy_on_top: bool = _setting(False, "heavy things lie on it")
    lumen_filled: bool = _setting(True, "lumen filled, no air pocket")
    brush: Brush = _setting("none", "the brush in hand")  # noqa: RUF009
    brush_mm: float = _setting(0.0, "width of the lumen brush", unit="mm", high=50)
    brush_clean: bool = _setting(True, "the brush was cleaned after its last use")
    brush_through: bool = _setting(True, "the lumen brush comes out at the far end")
    supported: bool = _setting(True, "delicate parts are held while brushed")
    strokes: float = _setting(0.0, "strokes over each place", unit="strokes", high=200)
    towards_body: bool = _setting(False, "strokes go towards the body")
    inner_joint: bool = _setting(False, "inner faces of the joint are brushed")
    under_water: bool = _setting(True, "brushed and flushed below the surface")
    flush_ml: float = _setting(0.0, "volume flushed through the lumen", unit="mL", high=5000)
    far_end_under: bool = _setting(True, "far end of the lumen held below the surface")
    flush_kpa: float = _setting(20.0, "pressure of the flush", unit="kPa", high=1000)
    manifold: bool = _setting(False, "all lumens flushed at once from one line")
    rinse_way: RinseWay = _setting("fill", "how the rinse water moves")  # noqa: RUF009
    rinses: float = _setting(0.0, "rinses in tap water", unit="rinses", high=10)
    rinse_l: float = _setting(5.0, "fresh water in each rinse", unit="L", low=0.5, high=100)
    fresh_rinse: bool = _setting(True, "water changed between the rinses")
    last_water: Water = _setting("none", "water of the last rinse")  # noqa: RUF009
    light_lux: float = _setting(300.0, "light on the inspection place", unit="lux", high=5000)
    magnification: float = _setting(1.0, "magnification in use", unit="x", low=1, high=50)
    borescope: bool = _setting(False, "a borescope is used in the lumens")
    lubricant: Lubricant = _setting("none", "what is put on the joints")  # noqa: RUF009
    dry_way: DryWay = _setting("none", "how water is taken off at the end")  # noqa: RUF009
    cloth: Cloth = _setting("none", "the cloth that wipes")  # noqa: RUF009
    cloth_agent: Agent = _setting("plain_water", "what the cloth is damp with")  # noqa: RUF009
    wipes: float = _setting(0.0, "wipes over each place", unit="wipes", high=100)
    ports_closed: bool = _setting(True, "couplings and openings closed or held up")
    machine: Machine = _setting("none", "the machine that follows")  # noqa: RUF009
    eyes_covered: bool = _setting(False, "goggles or face shield on")
    gloves_thick: bool = _setting(False, "thick, long-cuffed gloves on")
    gown_on: bool = _setting(False, "fluid-proof gown or apron on")
    mask_on: bool = _setting(False, "mask on")

    def changed(self, **settings: Any) -> Handling:
        """Return a copy with these settings."""
        return dataclasses.replace(self, **settings)


_NAMED: dict[str, Any] = {
    "agent": Agent | Literal["$site_agent"],
    "brush": Brush,
    "cloth": Cloth,
    "cloth_agent": Agent | Literal["$site_agent"],
    "dry_way": DryWay,
    "last_water": Water,
    "lubricant": Lubricant,
    "machine": Machine,
    "rinse_way": RinseWay,
}


def _checked_type(setting: dataclasses.Field[Any]) -> Any:
    if isinstance(setting.default, bool):
        return bool | None
    if isinstance(setting.default, float):
        low, high = setting.metadata["low"], setting.metadata["high"]
        number = Annotated[float, Field(ge=low, le=high)]
        return number | Annotated[str, Field(pattern=r"^\$[a-z][a-z0-9_]*$")] | None
    return _NAMED[setting.name] | None


class _Change(Model):
    def settings(self) -> dict[str, Any]:
        """Return the settings that are given, by name; numbers may still be ``$name``."""
        return {name: getattr(self, name) for name in self.model_fields_set}


HandlingChange = create_model(  # type: ignore[call-overload]
    "HandlingChange",
    __base__=_Change,
    __doc__="The settings that an answer changes; every field of `Handling`, all optional.",
    **{setting.name: (_checked_type(setting), None) for setting in dataclasses.fields(Handling)},
)
