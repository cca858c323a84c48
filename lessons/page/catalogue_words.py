"""The catalogue's sentences in the language of the page; the catalogue itself speaks English."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from scoring.catalogue import disputes, mistakes
from scoring.model import Identifier, Model
from scoring.scenario import Basis
from scoring.yaml_file import read_yaml

HERE = Path(__file__).parent


class MistakeWords(Model):
    """One mistake of the catalogue: what it is, and what it leads to, as phrases."""

    mistake: str = Field(min_length=1)
    effect: str = Field(min_length=1)


class CatalogueWords(Model):
    """The whole of one ``catalogue.<language>.yaml``; what it leaves out is said in English."""

    schema_version: Literal[1]
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "needs review by a speaker"]
    mistakes: dict[Annotated[str, Field(pattern=r"^M[0-9]{2,3}$")], MistakeWords]
    disputes: dict[Identifier, str]


@cache
def catalogue_words(language: str) -> CatalogueWords | None:
    """Return what there is of the catalogue in `language`; None where there is nothing."""
    path = HERE / f"catalogue.{language}.yaml"
    return read_yaml(path, CatalogueWords) if path.exists() else None


def mistake_words(name: str, language: str) -> MistakeWords:
    """Return a mistake in `language`; English where it is not translated."""
    words = catalogue_words(language)
    if words is not None and name in words.mistakes:
        return words.mistakes[name]
    row = mistakes()[name]
    return MistakeWords(mistake=row.mistake, effect=row.effect)


def disputed(basis: Basis, language: str) -> tuple[str, ...]:
    """Return a sentence for each disagreement between published findings that `basis` touches."""
    named = set(basis.facts)
    words = catalogue_words(language)
    known = words.disputes if words is not None else {}
    return tuple(
        known.get(name, one.said) for name, one in disputes().items() if named & set(one.fact_ids)
    )
