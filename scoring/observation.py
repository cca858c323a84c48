"""One assessor's record of one person at the real sink."""

from __future__ import annotations

from typing import Annotated, Literal, Self, get_args

from pydantic import AwareDatetime, Field, StringConstraints, model_validator

from scoring.attempt import Digest
from scoring.model import Identifier, Model, OperatorCode, Station

ObservationId = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9_-]{7,79}$")]

ItemRating = Literal["done", "not_done", "not_seen"]
"""`not_seen` is no rating: the item could not be watched, and counts neither way."""

ITEM_RATINGS: tuple[ItemRating, ...] = get_args(ItemRating)


class Observation(Model):
    """The whole of one observation file, ``<id>.json``; written once and never changed.

    Two assessors who watched the same performance give two observations of one
    `occasion`.

    Raises
    ------
    ValidationError
        An item does not fit, or somebody rates himself or herself.
    """

    schema_version: Literal[1] = 1
    kit: str
    id: ObservationId
    occasion: ObservationId
    operator: OperatorCode
    rater: OperatorCode
    station: Station
    checklist: Identifier
    checklist_version: int = Field(ge=1)
    checklist_digest: Digest
    site: Identifier
    at: AwareDatetime
    ratings: dict[Identifier, ItemRating] = Field(min_length=1, max_length=40)
    # Strict: otherwise `true` would be read as the lowest grade.
    overall: Annotated[int, Field(strict=True, ge=1, le=5)] | None = None

    @model_validator(mode="after")
    def _by_somebody_else(self) -> Self:
        if self.rater == self.operator:
            raise ValueError(f"{self.rater} rates the own work; wanted another assessor")
        return self
