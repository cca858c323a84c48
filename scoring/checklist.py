"""A checklist for the real sink: what an assessor watches, item by item."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from scoring.model import Identifier, Model, Station

MistakeId = Annotated[str, StringConstraints(pattern=r"^M[0-9]{2,3}$")]

Grade = Annotated[int, Field(ge=1, le=5)]

OVERALL = (1, 2, 3, 4, 5)
"""Grades of the overall rating, worst first. Five grades are common practice in observed stations;
no source."""

BORDERLINE = 2
"""The grade that stands between failing and passing: the one above the lowest, so that two grades
lie clearly above it. A working judgement; borderline regression can take another."""


UNSOURCED = "common practice, no source"
"""What an item's basis says when no fact of the catalogue carries it."""


class ChecklistItem(Model):
    """One thing that is watched.

    `mistakes` are the catalogue's ids of what it means when the item is not done;
    `basis` names facts of the catalogue, as ``T5; T6``, or is :data:`UNSOURCED`.
    """

    id: Identifier
    mistakes: tuple[MistakeId, ...] = Field(min_length=1)
    critical: bool = False
    basis: str = Field(min_length=1)


class Checklist(Model):
    """The whole of one checklist file, ``<id>.yaml``. A change is a new version.

    Raises
    ------
    ValidationError
        An item stands twice, there is none, or an item has no mistake.
    """

    schema_version: Literal[1]
    id: Identifier
    version: int = Field(ge=1)
    station: Station
    items: tuple[ChecklistItem, ...] = Field(min_length=1, max_length=40)

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        names = [item.id for item in self.items]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(f"item {twice[0]!r} stands twice")
        return self

    @property
    def name(self) -> str:
        """Id and version in one word: ``sink-soak_v1``."""
        return f"{self.id}_v{self.version}"


class ItemWords(Model):
    """What an assessor reads of one item: what is watched, and when it counts as done or not."""

    text: str = Field(min_length=1)
    done: str = Field(min_length=1)
    not_done: str = Field(min_length=1)


class ChecklistWords(Model):
    """The words of a checklist in one language, ``<id>.<language>.yaml``.

    `caution` stands above the items, where the assessor reads it before the work
    begins; `overall` says what each grade means.
    """

    schema_version: Literal[1]
    checklist: Identifier
    language: Annotated[str, StringConstraints(pattern=r"^[a-z]{2}$")]
    review: str = ""
    title: str = Field(min_length=1)
    caution: str = Field(min_length=1)
    items: dict[Identifier, ItemWords]
    overall: dict[Grade, str]

    @model_validator(mode="after")
    def _each_grade(self) -> Self:
        missing = [grade for grade in OVERALL if grade not in self.overall]
        if missing:
            raise ValueError(f"grade {missing[0]} has no words")
        return self
