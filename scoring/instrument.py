"""An instrument as the bench and the drawing know it: its places and their shape."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from scoring.model import Identifier, Model

PlaceKind = Literal["flat", "serration", "joint", "ratchet", "thread", "lumen", "texture"]


class Place(Model):
    """One surface place.

    Attributes
    ----------
    kind : PlaceKind
        What shape the surface has; decides how well brush and bath reach it.
    area_cm2 : float
        Its surface, square centimetres, above 0.
    bore_mm, length_mm : float or None
        Lumens only: inner diameter and length, millimetres.
    pressure_max_kpa : float or None
        Lumens only: the highest flushing pressure that the device's IFU allows, kPa.
    """

    kind: PlaceKind
    area_cm2: float = Field(gt=0, le=500)
    bore_mm: float | None = Field(default=None, gt=0, le=50)
    length_mm: float | None = Field(default=None, gt=0, le=3000)
    pressure_max_kpa: float | None = Field(default=None, gt=0, le=1000)

    @model_validator(mode="after")
    def _lumens_have_a_bore(self) -> Self:
        if (self.kind == "lumen") != (self.bore_mm is not None and self.length_mm is not None):
            raise ValueError("bore_mm and length_mm belong to a lumen, and a lumen needs both")
        if self.kind != "lumen" and self.pressure_max_kpa is not None:
            raise ValueError("pressure_max_kpa belongs to a lumen")
        return self


class Instrument(Model):
    """The whole of one instrument file, ``<id>.yaml``.

    `drawing` names the outline that draws it; the outline knows where each
    place lies. `immersible` is false for a device that water must not enter;
    `delicate` is true where weight or a hard brush bends the tips.
    """

    schema_version: Literal[1]
    id: Identifier
    drawing: Identifier
    immersible: bool = True
    delicate: bool = False
    carried_ml: float = Field(gt=0, le=500)
    places: dict[Identifier, Place] = Field(min_length=2)
