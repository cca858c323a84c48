"""The lines of an answer log: header, answers, events, close.

One JSON object a line. Each line but the first carries the digest of the line
before it, so that a changed, lost or moved line is found and named.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from scoring.model import Identifier, Model, OperatorCode

Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
SittingId = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]{7,79}$")]

AnswerValue = str | tuple[str, ...] | dict[Literal["amount", "unit"], float | str]
"""An option id; ids ticked, ordered or marked; or an amount with its unit."""


class SeatedScenario(Model):
    """A scenario as this sitting met it."""

    id: Identifier
    seed: int = Field(ge=0)
    digest: Digest


class Header(Model):
    """First line: who sat what, under which values.

    `form_digest`, `site_digest` and each scenario's digest let the marking see
    whether anything has changed since.
    """

    line: Literal["header"] = "header"
    schema_version: Literal[1] = 1
    kit: str
    sitting: SittingId
    operator: OperatorCode
    purpose: Literal["lesson", "exam"]
    form: Identifier
    form_version: int
    form_digest: Digest
    site: Identifier
    site_digest: Digest
    language: str
    scenarios: tuple[SeatedScenario, ...]
    started: AwareDatetime


class Answer(Model):
    """One confirmed answer. `seconds` is the time taken, by the server's clock."""

    line: Literal["answer"] = "answer"
    seq: int = Field(ge=1)
    at: AwareDatetime
    scenario: Identifier
    decision: Identifier
    value: AnswerValue
    seconds: float = Field(ge=0)
    previous: Digest


class Event(Model):
    """Something that happened to the sitting besides an answer."""

    line: Literal["event"] = "event"
    seq: int = Field(ge=1)
    at: AwareDatetime
    what: Literal["resumed", "hint"]
    detail: str = ""
    previous: Digest


class Close(Model):
    """Last line: how many answers there are, and the chain up to here."""

    line: Literal["close"] = "close"
    seq: int = Field(ge=1)
    at: AwareDatetime
    answers: int = Field(ge=0)
    previous: Digest


LogLine = Annotated[Header | Answer | Event | Close, Field(discriminator="line")]
