"""The words of the page itself, by language; a translation is one more file."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Literal

from pydantic import Field

from scoring.model import Model
from scoring.yaml_file import read_yaml

HERE = Path(__file__).parent


class Interface(Model):
    """The whole of one ``interface.<language>.yaml``.

    Attributes
    ----------
    name : str
        What the language calls itself.
    page : dict of str to str
        What the card says by itself; sent to the page once.
    said : dict of str to str
        What the kernel puts into screens.
    """

    schema_version: Literal[1]
    language: str = Field(pattern=r"^[a-z]{2}$")
    name: str = Field(min_length=1, max_length=30)
    review: Literal["reviewed", "needs review by a speaker"] = "reviewed"
    page: dict[str, str]
    said: dict[str, str]

    def say(self, key: str, **values: object) -> str:
        """Return the sentence `key` with its ``{name}`` filled in.

        Raises
        ------
        KeyError
            There is no such sentence, or a name in it has no value.
        """
        return self.said[key].format(**values) if values else self.said[key]


@cache
def interface(language: str = "en") -> Interface:
    """Return the page's words in `language`; English when there is no such file."""
    path = HERE / f"interface.{language}.yaml"
    return read_yaml(path if path.exists() else HERE / "interface.en.yaml", Interface)


@cache
def languages() -> dict[str, str]:
    """Return the languages that the page can speak, each named in itself; English first."""
    found = {path.stem.partition(".")[2] for path in HERE.glob("interface.*.yaml")}
    return {one: interface(one).name for one in ("en", *sorted(found - {"en"}))}
