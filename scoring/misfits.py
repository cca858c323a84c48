"""Saying what is wrong with one item of a file, in words for somebody who does not program."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any

from pydantic_core import ErrorDetails

Context = dict[str, Any]

PATTERNS = {
    r"^[a-z][a-z0-9_-]{0,63}$": (
        "a short name: a lower-case letter, then lower-case letters, digits, - or _, 64 at most"
    ),
    r"^[a-z][a-z0-9_]*$": "a name: a lower-case letter, then lower-case letters, digits or _",
    r"^\$[a-z][a-z0-9_]*$": "$ and the name of a parameter",
    r"^M[0-9]{2,3}$": "the id of a mistake in the catalogue, like M08",
    r"^[A-Z][0-9]{1,2}n?$": "the id of a fact in the table, like B14",
    r"^[A-Z]{1,4}-?[0-9]{1,6}$": "an operator code: one to four capitals and digits, like OP-017",
    r"^[a-z]{2}$": "two lower-case letters, like en",
}
"""What the schemas' patterns mean. A pattern that is not here is shown as it is."""

_WANTED: dict[str, Callable[[Context], str]] = {
    "missing": lambda context: "this item",
    "extra_forbidden": lambda context: "no such item here",
    "int_type": lambda context: "a whole number",
    "int_parsing": lambda context: "a whole number",
    "int_parsing_size": lambda context: "a whole number of ordinary size",
    "int_from_float": lambda context: "a whole number",
    "float_type": lambda context: "a number",
    "float_parsing": lambda context: "a number",
    "finite_number": lambda context: "a number that is not infinite",
    "greater_than": lambda context: f"a number above {context['gt']:g}",
    "greater_than_equal": lambda context: f"{context['ge']:g} or more",
    "less_than": lambda context: f"a number below {context['lt']:g}",
    "less_than_equal": lambda context: f"{context['le']:g} or less",
    "bool_type": lambda context: "true or false",
    "bool_parsing": lambda context: "true or false",
    "string_type": lambda context: "text",
    "string_too_short": lambda context: (
        "some text"
        if context["min_length"] == 1
        else f"at least {context['min_length']} characters"
    ),
    "string_too_long": lambda context: f"at most {context['max_length']} characters",
    "string_pattern_mismatch": lambda context: PATTERNS.get(
        context["pattern"], f"text of the form {context['pattern']}"
    ),
    "string_unicode": lambda context: "text that can be written",
    "literal_error": lambda context: _choice(context["expected"]),
    "union_tag_invalid": lambda context: _choice(context["expected_tags"]),
    "union_tag_not_found": lambda context: "this item",
    "tuple_type": lambda context: "a list: [a, b], or one entry a line after a dash",
    "list_type": lambda context: "a list: [a, b], or one entry a line after a dash",
    "dict_type": lambda context: "items of the form `name: value`",
    "model_type": lambda context: "items of the form `name: value`",
    "model_attributes_type": lambda context: "items of the form `name: value`",
    "too_short": lambda context: f"a list of length {context['min_length']} or more",
    "too_long": lambda context: f"a list of length {context['max_length']} or less",
    "invalid_key": lambda context: "names that are text",
    "recursion_loop": lambda context: "an item that does not hold itself",
}


def wanted(misfits: Iterable[ErrorDetails]) -> str:
    """Say what would have been right; several misfits of one item are its alternatives."""
    every = list(misfits)
    # A number out of its range is also "no text" to a union; saying so would mislead.
    telling = [misfit for misfit in every if misfit["type"] != "string_type"] or every
    return ", or ".join(dict.fromkeys(_wanted(misfit) for misfit in telling))


def found(misfit: ErrorDetails) -> object:
    """Return what stands there, short enough to be shown."""
    if misfit["type"] in {"missing", "union_tag_not_found"}:
        return "nothing"
    if misfit["type"] == "union_tag_invalid":
        return misfit["ctx"]["tag"]
    value = misfit["input"]
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return "an empty list" if not value else f"a list of length {len(value)}"
    if isinstance(value, dict):
        return "no items" if not value else "the items " + ", ".join(str(name) for name in value)
    return value


def remedy(misfit: ErrorDetails) -> str:
    """Say what to do about it."""
    kind = misfit["type"]
    if kind in {"missing", "union_tag_not_found"}:
        return "Add this item."
    if kind == "extra_forbidden":
        return "Check the spelling, or take the item out."
    if misfit["loc"][-1:] == ("schema_version",):
        return "This file is made for another version of the kit. Update the kit, or the file."
    return "Change this item. The files that come with the kit show how."


def _wanted(misfit: ErrorDetails) -> str:
    said = _WANTED.get(misfit["type"])
    if said is not None:
        return said(misfit.get("ctx", {}))
    return re.sub(r"^Value error, ", "", misfit["msg"])


def _choice(expected: str) -> str:
    names = re.findall(r"'([^']*)'", expected) or [expected]
    return names[0] if len(names) == 1 else "one of: " + ", ".join(names)
