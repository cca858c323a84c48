"""Words of the trade that stand on a screen, with what each means."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

from scoring.model import Identifier, Model
from scoring.yaml_file import read_yaml

HERE = Path(__file__).parent

EXPLAINED_IN = frozenset({"intro", "decision", "consequence"})
"""Kinds of screen whose text may hold a word that somebody meets for the first time."""

_READ = ("situation", "aims", "caution", "question", "answers", "said", "reason", "heading")


class Term(Model):
    """One word of the trade.

    Attributes
    ----------
    term : str
        As it stands in the list.
    forms : tuple of str
        The spellings looked for, whole words, small or capital letters.
    said : str
        What it means, in one or two short sentences.
    """

    term: str = Field(min_length=1)
    forms: tuple[str, ...] = Field(min_length=1)
    said: str = Field(min_length=1)


class Glossary(Model):
    """The whole of one ``glossary.<language>.yaml``."""

    schema_version: Literal[1]
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "needs review", "needs review by a speaker"]
    terms: dict[Identifier, Term]


@cache
def glossary(language: str = "en") -> Glossary:
    """Return the words of the trade in `language`; English when there is no such file."""
    path = HERE / f"glossary.{language}.yaml"
    return read_yaml(path if path.exists() else HERE / "glossary.en.yaml", Glossary)


def explained(screen: dict[str, Any], language: str) -> dict[str, Any]:
    """Return the screen with the words of the trade in its text, in the order of the alphabet."""
    if screen["kind"] not in EXPLAINED_IN:
        return screen
    text = "\n".join(_texts(screen.get(name, "") for name in _READ)).lower()
    found = [
        {"term": term.term, "said": term.said}
        for name, term in _in_order(language)
        if _pattern(language, name).search(text)
    ]
    return screen | {"terms": found}


@cache
def _in_order(language: str) -> list[tuple[str, Term]]:
    """Return the terms as the alphabet has them, small and capital letters alike."""
    return sorted(glossary(language).terms.items(), key=lambda item: item[1].term.casefold())


@cache
def _pattern(language: str, name: str) -> re.Pattern[str]:
    forms = "|".join(re.escape(form.lower()) for form in glossary(language).terms[name].forms)
    return re.compile(rf"\b(?:{forms})\b")


def _texts(values: Any) -> Iterator[str]:
    """Yield every text below a value of a screen, but ids."""
    for value in values:
        if isinstance(value, str):
            yield value
        elif isinstance(value, Mapping):
            yield from _texts(inner for name, inner in value.items() if name != "id")
        else:
            yield from _texts(value)
