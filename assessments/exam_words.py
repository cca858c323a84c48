"""The words of the exam page, by language; a translation is one more file."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Literal

from pydantic import Field

from scoring.model import Model
from scoring.yaml_file import read_yaml

HERE = Path(__file__).parent


class ExamWords(Model):
    """The whole of one ``exam_words.<language>.yaml``: sentences, or lists of them, by name."""

    schema_version: Literal[1]
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "needs review by a speaker"] = "reviewed"
    said: dict[str, str | tuple[str, ...]]

    def say(self, key: str, **values: object) -> str:
        """Return the sentence `key` with its ``{name}`` filled in; `KeyError` if there is none."""
        return str(self.said[key]).format(**values)

    def say_all(self, key: str, **values: object) -> tuple[str, ...]:
        """Return the list of sentences `key`, each filled in."""
        return tuple(sentence.format(**values) for sentence in self.said[key])


@cache
def exam_words(language: str = "en") -> ExamWords:
    """Return the exam's words in `language`; English when there is no such file."""
    path = HERE / f"exam_words.{language}.yaml"
    return read_yaml(path if path.exists() else HERE / "exam_words.en.yaml", ExamWords)
