"""Site values: the department's own limits, taken from its IFUs and rules.

Published values disagree (a temperature cap of 43, 45 or 49 degC, a residue
limit per side, per cm2 or per mL), so none is wired into the kit: a department
writes its own, with where it took each from.
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from scoring.bench.handling import Agent
from scoring.model import Identifier, Model
from scoring.scenario import MistakeId


class Cleaner(Model):
    """The cleaning agent in use, as its label and IFU say.

    Doses in mL of concentrate per litre, times in minutes, temperatures in degC.
    """

    agent: Agent = "enzymatic_cleaner"
    label: str = Field(min_length=1)
    dose_ml_per_l: float = Field(gt=0, le=200)
    dose_tolerance: float = Field(gt=0, le=0.5)
    contact_min: float = Field(gt=0, le=120)
    contact_max: float = Field(gt=0, le=1440)
    temperature_min_c: float = Field(ge=5, le=60)
    temperature_max_c: float = Field(ge=5, le=60)
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _windows_are_windows(self) -> Self:
        if self.contact_min >= self.contact_max:
            raise ValueError("contact_min must be below contact_max")
        if self.temperature_min_c >= self.temperature_max_c:
            raise ValueError("temperature_min_c must be below temperature_max_c")
        return self


class Rinse(Model):
    """Rinses in tap water before the last one, and the water of the last one."""

    tap_min: int = Field(ge=1, le=6)
    tap_max: int = Field(ge=1, le=8)
    litres: float = Field(gt=0, le=100)
    bays: Literal[2, 3]
    tap_salts_mg_per_l: float = Field(ge=0, le=2000)
    treated_salts_mg_per_l: float = Field(ge=0, le=50)
    tap_endotoxin_eu_per_ml: float = Field(ge=0, le=1000)
    treated_endotoxin_eu_per_ml: float = Field(ge=0, le=1000)
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _window(self) -> Self:
        if self.tap_min > self.tap_max:
            raise ValueError("tap_min must not be above tap_max")
        return self


class Brushing(Model):
    """How brushing is done here: strokes over each place, and the fit of a lumen brush.

    `fit_tolerance` is the allowed difference between brush and bore, as a share of the bore.
    """

    strokes_min: int = Field(ge=1, le=50)
    strokes_max: int = Field(ge=1, le=100)
    fit_tolerance: float = Field(gt=0, le=0.5)
    source: str = Field(min_length=1)


class Flushing(Model):
    """How much goes through each lumen at a flush, mL."""

    ml_min: float = Field(gt=0, le=2000)
    ml_max: float = Field(gt=0, le=2000)
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _window(self) -> Self:
        if self.ml_min >= self.ml_max:
            raise ValueError("ml_min must be below ml_max")
        return self


class Inspection(Model):
    """Light on the inspection place, lux, and the magnifier in use."""

    light_min_lux: float = Field(gt=0, le=5000)
    light_max_lux: float = Field(gt=0, le=5000)
    magnification: float = Field(ge=1, le=50)
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _window(self) -> Self:
        if self.light_min_lux >= self.light_max_lux:
            raise ValueError("light_min_lux must be below light_max_lux")
        return self


class Limits(Model):
    """Residues above which the bench calls an instrument soiled."""

    protein_ug_per_cm2: float = Field(gt=0, le=100)
    residue_mg: float = Field(gt=0)
    ions_mg: float = Field(gt=0)
    endotoxin_eu: float = Field(gt=0)
    source: str = Field(min_length=1)


class PassRules(Model):
    """When a station is passed and how long a sign-off lasts."""

    cut: float = Field(gt=0, lt=1)
    expiry_months: int = Field(ge=1, le=60)
    source: str = Field(min_length=1)


class SiteValues(Model):
    """The whole of one site file.

    `severity` overrides the catalogue's working judgement (1 to 4) of a mistake.
    """

    schema_version: Literal[1]
    id: Identifier
    name: str = Field(min_length=1, max_length=120)
    units: Literal["metric", "us"] = "metric"
    cleaner: Cleaner
    rinse: Rinse
    brushing: Brushing
    flushing: Flushing
    inspection: Inspection
    limits: Limits
    passing: PassRules
    severity: dict[MistakeId, Literal[1, 2, 3, 4]] = Field(default_factory=dict)
