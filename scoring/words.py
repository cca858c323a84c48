"""The words of a scenario: every sentence a trainee reads, by language.

Stored beside the scenario as ``<id>.<language>.yaml``. ``{name}`` in a
sentence stands for a parameter or a site value and is filled in when shown.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from scoring.model import Identifier, Model


class DecisionWords(Model):
    """The words of one decision.

    Attributes
    ----------
    question : str
        What is to be settled.
    answers : dict
        A label for each option, tick or item; empty for quantities and places.
    reasons : dict
        What follows and why: by option or tick; for an order ``right``,
        ``wrong`` and each broken precedence's ``first``; for a quantity
        ``right``, ``too_low``, ``too_high``; for places ``all_found``,
        ``missed``, ``false_alarm``.
    hint : str
        Said once when asked for.
    """

    question: str = Field(min_length=1)
    answers: dict[Identifier, str] = Field(default_factory=dict)
    reasons: dict[Identifier, str]
    hint: str = ""


class Words(Model):
    """The whole of one words file.

    `review` says whether a practising educator (for a translation, a speaker)
    has read it. `aims` completes "After this you can …"; `caution` is shown
    where the work can hurt somebody and defers to the IFU and local rules.
    """

    schema_version: Literal[1]
    scenario: Identifier
    language: str = Field(pattern=r"^[a-z]{2}$")
    review: Literal["reviewed", "not yet reviewed", "needs review by a speaker"] = (
        "not yet reviewed"
    )
    title: str = Field(min_length=1, max_length=120)
    situation: str = Field(min_length=1)
    aims: tuple[str, ...] = Field(min_length=1)
    caution: str = Field(min_length=1)
    decisions: dict[Identifier, DecisionWords]
