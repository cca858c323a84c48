"""Every single value of a checked file with the path to it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from pydantic import BaseModel

from scoring.check.desk import Where


class Found(NamedTuple):
    """One value that was written in the file.

    `field` is the nearest name on its path, so that entries of a list carry the
    list's name.
    """

    where: Where
    field: str
    value: Any


def walk(value: Any, where: Where = (), field: str = "") -> Iterator[Found]:
    """Yield each value below a model, a dict or a list; what the file left out is not there."""
    if isinstance(value, BaseModel):
        for name in value.model_fields_set:
            yield from walk(getattr(value, name), (*where, name), name)
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield from walk(inner, (*where, name), str(name))
    elif isinstance(value, list | tuple):
        for number, inner in enumerate(value):
            yield from walk(inner, (*where, number), field)
    else:
        yield Found(where, field, value)
