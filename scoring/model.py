"""The base every record and every trainer's file is checked with."""

from __future__ import annotations

import hashlib
import json
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, StringConstraints


class Model(BaseModel):
    """A frozen pydantic model that accepts no unknown item.

    An unknown key in a trainer's file is nearly always a misspelling, so it is
    a fault and not silently dropped.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


Identifier = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]{0,63}$")]
"""Id of a scenario, decision, option or place: lower case, digits, ``-`` and ``_``."""

OperatorCode = Annotated[str, StringConstraints(pattern=r"^[A-Z]{1,4}-?[0-9]{1,6}$")]
"""Pseudonym of a person: one to four capitals, an optional dash, digits (``OP-017``)."""

Station = Literal["ready", "soak", "brush", "rinse", "inspect"]
"""A part of the work; ``ready`` is everything before the bath."""

STATIONS: tuple[Station, ...] = ("ready", "soak", "brush", "rinse", "inspect")
"""The stations in the order of the work."""


def digest(content: object) -> str:
    """Return the SHA-256 of `content` as canonical JSON.

    Parameters
    ----------
    content : object
        Anything `json` can write; pydantic models are dumped first.

    Returns
    -------
    str
        64 hexadecimal digits; equal content gives equal digests whatever the
        order of its keys.
    """
    if isinstance(content, BaseModel):
        content = content.model_dump(mode="json")
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
