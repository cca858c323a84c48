"""A form: an immutable, versioned exam or lesson."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from scoring.model import Identifier, Model


class FormScenario(Model):
    """One scenario of a form.

    `seed` None means that each sitting draws its own seed from the sitting's id.
    """

    id: Identifier
    seed: int | None = Field(default=None, ge=0)
    weight: float = Field(default=1.0, gt=0, le=10)


class Form(Model):
    """The whole of one form file, ``<id>.yaml``.

    A form is never edited once somebody has sat it: a change is a new version
    with a new file.
    """

    schema_version: Literal[1]
    id: Identifier
    version: int = Field(ge=1)
    purpose: Literal["lesson", "exam"]
    title: dict[Annotated[str, Field(pattern=r"^[a-z]{2}$")], str]
    scenarios: tuple[FormScenario, ...] = Field(min_length=1)
    cut: float | None = Field(default=None, gt=0, lt=1)
    counts: Literal["first", "last", "best"] = "last"
    minutes: int = Field(ge=1, le=480)

    @model_validator(mode="after")
    def _fits(self) -> Self:
        names = [scenario.id for scenario in self.scenarios]
        twice = {name for name in names if names.count(name) > 1}
        if twice:
            raise ValueError(f"scenario {sorted(twice)[0]!r} stands twice")
        if "en" not in self.title:
            raise ValueError("title has no English text (en)")
        return self

    @property
    def name(self) -> str:
        """Id and version in one word, fit for a file name: ``hand-cleaning_v1``."""
        return f"{self.id}_v{self.version}"
