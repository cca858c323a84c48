"""Loading the tables beside this module, each row checked."""

from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import Field, ValidationError

from scoring.faults import FaultError
from scoring.misfits import wanted
from scoring.model import Identifier, Model, Station

FACTS_FILE = Path(__file__).with_name("facts.csv")
MISTAKES_FILE = Path(__file__).with_name("mistakes.csv")
SUBJECTS_FILE = Path(__file__).with_name("subjects.csv")
DISPUTES_FILE = Path(__file__).with_name("disputes.csv")

FactId = Annotated[str, Field(pattern=r"^[A-Z][0-9]{1,2}n?$")]
Status = Literal["read", "restated", "calculated", "common practice", "memory"]
"""How a fact is known: read at its source, restated by another, calculated, practice, memory."""

_FACT_ID = re.compile(r"\b[A-Z][0-9]{1,2}n?\b")


class Fact(Model):
    """One row of the table of facts, with where it comes from and how it is known."""

    id: FactId
    topic: str = Field(min_length=1)
    fact: str = Field(min_length=1)
    values: str
    unit: str
    source: str = Field(min_length=1)
    status: Status


class Mistake(Model):
    """One row of the catalogue of mistakes.

    Attributes
    ----------
    severity : int
        1 (slows the work) to 4 (can hurt a patient or a colleague badly). A
        working judgement; the site values may overrule it.
    basis : str
        Fact ids and words, as the table has them.
    """

    id: Annotated[str, Field(pattern=r"^M[0-9]{2,3}$")]
    station: Station
    topic: str = Field(min_length=1)
    mistake: str = Field(min_length=1)
    why_people_do_it: str = Field(min_length=1)
    effect: str = Field(min_length=1)
    who_is_harmed: Literal["patient", "operator", "device", "others"]
    severity: int = Field(ge=1, le=4)
    right_action: str = Field(min_length=1)
    basis: str = Field(min_length=1)

    @property
    def fact_ids(self) -> tuple[str, ...]:
        """The ids of facts that `basis` names."""
        return tuple(_FACT_ID.findall(self.basis))


class Subject(Model):
    """One row of the list of subjects: what hand cleaning is made of.

    Attributes
    ----------
    topics : str
        The topics of decisions and mistakes that belong to it, between semicolons.
    """

    id: Identifier
    subject: str = Field(min_length=1)
    topics: str = Field(min_length=1)

    @property
    def topic_ids(self) -> tuple[str, ...]:
        """The topics that belong to it."""
        return tuple(topic.strip() for topic in self.topics.split(";"))


class Dispute(Model):
    """Published findings that disagree, and the sentence that tells a trainee so.

    Attributes
    ----------
    facts : str
        Ids of the facts that do not agree, between semicolons.
    said : str
        What is told wherever a rule rests on one of them.
    """

    id: Identifier
    facts: str = Field(min_length=1)
    said: str = Field(min_length=1)

    @property
    def fact_ids(self) -> tuple[str, ...]:
        """The ids of the facts that do not agree."""
        return tuple(_FACT_ID.findall(self.facts))


Row = TypeVar("Row", Fact, Mistake, Subject, Dispute)


@cache
def facts() -> dict[str, Fact]:
    """Return the table of facts by id; do not change what is returned."""
    return read_table(FACTS_FILE, Fact)


@cache
def mistakes() -> dict[str, Mistake]:
    """Return the catalogue of mistakes by id; do not change what is returned."""
    return read_table(MISTAKES_FILE, Mistake)


@cache
def subjects() -> dict[str, Subject]:
    """Return the subjects of hand cleaning by id; do not change what is returned."""
    return read_table(SUBJECTS_FILE, Subject)


@cache
def disputes() -> dict[str, Dispute]:
    """Return the disagreements between findings by id; do not change what is returned."""
    return read_table(DISPUTES_FILE, Dispute)


def read_table(path: Path, row: type[Row]) -> dict[str, Row]:
    """Read one of the tables.

    Raises
    ------
    FaultError
        A row has too few or too many columns, does not fit, or stands twice.
    """
    table: dict[str, Row] = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, strict=True)
        try:
            for cells in reader:
                entry = _entry(path, reader.line_num, cells, row)
                if entry.id in table:
                    raise _fault(path, reader.line_num, "id", entry.id, "an id that stands once")
                table[entry.id] = entry
        except csv.Error as error:
            raise _fault(path, reader.line_num + 1, "quotes", str(error), "whole quotes") from error
    return table


def _entry(path: Path, line: int, cells: dict[str, str], row: type[Row]) -> Row:
    try:
        return row.model_validate(cells)
    except ValidationError as error:
        misfit = error.errors(include_url=False)[0]
        where = ", ".join(str(part) for part in misfit["loc"])
        raise _fault(path, line, where, misfit["input"], wanted([misfit])) from error


def _fault(path: Path, line: int, column: str, found: object, wanted: str) -> FaultError:
    return FaultError.one(
        path,
        f"line {line}, {column}",
        found=found,
        wanted=wanted,
        remedy="Put the kit's own table back, or correct this row.",
    )
