"""A checklist for the real sink: what an assessor watches, item by item."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from scoring.model import Identifier, Model, Station

MistakeId = Annotated[str, StringConstraints(pattern=r"^M[0-9]{2,3}$")]

OVERALL = (1, 2, 3, 4, 5)
"""Grades of the overall rating, worst first. Five grades are common practice in observed stations;
no source."""

BORDERLINE = 2
"""The grade that stands between failing and passing: the one above the lowest, so that two grades
lie clearly above it. A working judgement; borderline regression can take another."""


class ChecklistItem(Model):
    """One thing that is watched.

    `mistakes` are the catalogue's ids of what it means when the item is not done.
    """

    id: Identifier
    mistakes: tuple[MistakeId, ...] = Field(min_length=1)
    critical: bool = False
    basis: str = Field(min_length=1)


class Checklist(Model):
    """The whole of one checklist file, ``<id>.yaml``. A change is a new version."""

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
    """The words of a checklist in one language, ``<id>.<language>.yaml``."""

    schema_version: Literal[1]
    checklist: Identifier
    language: Annotated[str, StringConstraints(pattern=r"^[a-z]{2}$")]
    review: str = ""
    title: str = Field(min_length=1)
    items: dict[Identifier, ItemWords]
    overall: dict[Literal[1, 2, 3, 4, 5], str]
