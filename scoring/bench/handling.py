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
Water = Literal["treated", "tap", "none"]


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
    moist: bool = _setting(False, "kept moist while waiting")
    lumen_filled: bool = _setting(True, "lumen filled, no air pocket")
    brush: Brush = _setting("none", "the brush in hand")  # noqa: RUF009
    brush_mm: float = _setting(0.0, "width of the lumen brush", unit="mm", high=50)
    strokes: float = _setting(0.0, "strokes over each place", unit="strokes", high=200)
    inner_joint: bool = _setting(False, "inner faces of the joint are brushed")
    under_water: bool = _setting(True, "brushed and flushed below the surface")
    flush_ml: float = _setting(0.0, "volume flushed through the lumen", unit="mL", high=5000)
    far_end_under: bool = _setting(True, "far end of the lumen held below the surface")
    rinses: float = _setting(0.0, "rinses in tap water", unit="rinses", high=10)
    rinse_l: float = _setting(5.0, "fresh water in each rinse", unit="L", low=0.5, high=100)
    fresh_rinse: bool = _setting(True, "water changed between the rinses")
    last_water: Water = _setting("none", "water of the last rinse")  # noqa: RUF009
    light_lux: float = _setting(300.0, "light on the inspection place", unit="lux", high=5000)
    magnification: float = _setting(1.0, "magnification in use", unit="x", low=1, high=50)
    eyes_covered: bool = _setting(False, "goggles or face shield on")
    gloves_thick: bool = _setting(False, "thick, long-cuffed gloves on")
    gown_on: bool = _setting(False, "fluid-proof gown or apron on")
    mask_on: bool = _setting(False, "mask on")

    def changed(self, **settings: Any) -> Handling:
        """Return a copy with these settings."""
        return dataclasses.replace(self, **settings)


def _checked_type(setting: dataclasses.Field[Any]) -> Any:
    if isinstance(setting.default, bool):
        return bool | None
    if isinstance(setting.default, float):
        low, high = setting.metadata["low"], setting.metadata["high"]
        number = Annotated[float, Field(ge=low, le=high)]
        return number | Annotated[str, Field(pattern=r"^\$[a-z][a-z0-9_]*$")] | None
    return {"agent": Agent | Literal["$site_agent"], "brush": Brush, "last_water": Water}[
        setting.name
    ] | None


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
