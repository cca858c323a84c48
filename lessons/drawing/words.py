"""The words of the pictures: what places are called, and how soil is described."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Literal

from pydantic import Field

from lessons.drawing.outline import NoteKey
from scoring.model import Identifier, Model
from scoring.yaml_file import read_yaml

_HERE = Path(__file__).resolve().parent
_INSTRUMENTS = _HERE.parent / "instruments"

Mark = Literal[
    "fresh", "dried", "fixed", "fat", "mineral", "bone", "foam", "salts", "scratches", "drops",
    "water", "oil", "lubricated", "air", "inside",
]  # fmt: skip
"""What a picture can show besides the instrument itself."""


class InstrumentWords(Model):
    """The whole of one ``<instrument>.<language>.yaml``: its name and its places' labels."""

    schema_version: Literal[1]
    instrument: Identifier
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "needs review by a speaker"] = "reviewed"
    name: str = Field(min_length=1, max_length=60)
    places: dict[Identifier, str]


class PictureWords(Model):
    """The whole of one ``words.<language>.yaml``: the sentences of the alt texts and legends.

    ``{...}`` in a sentence is filled in when shown.
    """

    schema_version: Literal[1]
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "needs review by a speaker"] = "reviewed"
    legend: dict[Mark, str]
    bore: str
    views: dict[Literal["cut", "scope", "unseen"], str]
    looked_inside: dict[Literal["scope", "unseen"], str]
    notes: dict[NoteKey, str]
    opened: str
    closed: str
    on_place: str
    amounts: dict[Literal["traces", "some", "much"], str]
    no_soil: str
    foam: str
    salts: str
    scratches: str
    drops: str
    water: str
    oil: str
    lubricated: str
    air: str
    inside: str
    to_inspect: str


@lru_cache(maxsize=64)
def instrument_words(instrument_id: str, language: str = "en") -> InstrumentWords:
    """Return the words of an instrument; English when the language has none.

    Raises
    ------
    FaultError
        The file is missing or malformed.
    """
    path = _INSTRUMENTS / f"{instrument_id}.{language}.yaml"
    if not path.exists():
        path = _INSTRUMENTS / f"{instrument_id}.en.yaml"
    return read_yaml(path, InstrumentWords)


@lru_cache(maxsize=16)
def picture_words(language: str = "en") -> PictureWords:
    """Return the words of the pictures; English when the language has none."""
    path = _HERE / f"words.{language}.yaml"
    if not path.exists():
        path = _HERE / "words.en.yaml"
    return read_yaml(path, PictureWords)
