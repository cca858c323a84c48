"""Reading a trainer's YAML file into a checked model, with faults that say where."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from scoring.faults import Fault, FaultError

LARGEST_BYTES = 1_000_000
"""No file a trainer writes comes near a megabyte; a larger one is the wrong file."""

Checked = TypeVar("Checked", bound=BaseModel)


def read_yaml(path: Path, model: type[Checked]) -> Checked:
    """Read `path` and check it against `model`.

    Parameters
    ----------
    path : Path
        The file.
    model : type
        A pydantic model.

    Returns
    -------
    BaseModel
        The checked content.

    Raises
    ------
    FaultError
        The file cannot be read, is no YAML, or does not fit the model; every
        misfit is a fault of its own.
    """
    text = _read_text(path)
    content = _parse(path, text)
    if not isinstance(content, dict):
        raise FaultError.one(
            path,
            "the whole file",
            found=type(content).__name__ if content is not None else "nothing",
            wanted="items of the form `name: value`",
            remedy="Start from one of the files that come with the kit.",
        )
    try:
        return model.model_validate(content)
    except ValidationError as error:
        lines = _line_numbers(text)
        raise FaultError(_fault(path, misfit, lines) for misfit in error.errors()) from error


def _read_text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise FaultError.one(
                path,
                "the whole file",
                found=f"{path.stat().st_size} bytes",
                wanted=f"at most {LARGEST_BYTES} bytes",
                remedy="Check that this is the file you meant.",
            )
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise FaultError.one(
            path,
            f"byte {error.start}",
            found=repr(error.object[error.start : error.start + 4]),
            wanted="text in UTF-8",
            remedy="Save the file again with the encoding UTF-8.",
        ) from error
    except OSError as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=error.strerror or type(error).__name__,
            wanted="a file that can be read",
            remedy="Check the name and that you may read the file.",
        ) from error


def _parse(path: Path, text: str) -> Any:
    try:
        return YAML(typ="safe", pure=False).load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = f"line {mark.line + 1}, column {mark.column + 1}" if mark else "the whole file"
        raise FaultError.one(
            path,
            line,
            found=str(error.problem or error.context),
            wanted="YAML: `name: value`, items of a list after a dash, two spaces a level",
            remedy="Look at this line and the one before it: a colon, a quote or a space is off.",
        ) from error
    except (YAMLError, ValueError, RecursionError, TypeError) as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=str(error).splitlines()[0] if str(error) else type(error).__name__,
            wanted="YAML text",
            remedy="Save the file again as plain text.",
        ) from error


def _line_numbers(text: str) -> Any:
    """Parse again, keeping line numbers; only done once a fault is known."""
    try:
        return YAML(typ="rt").load(text)
    except YAMLError:
        return None


def _fault(path: Path, misfit: Any, tree: Any) -> Fault:
    where = [part for part in misfit["loc"] if not _is_model_name(part)]
    line = _line_of(tree, where)
    item = _dotted(where) or "the whole file"
    if line is not None:
        item = f"{item} (line {line})"
    found = misfit.get("input")
    if misfit["type"] == "missing":
        found = "nothing"
    message = re.sub(r"^Value error, ", "", misfit["msg"])
    remedy = {
        "missing": "Add this item.",
        "extra_forbidden": "Check the spelling, or take the item out.",
    }.get(misfit["type"], "Change the value, or see the example files of the kit.")
    wanted = "no such item here" if misfit["type"] == "extra_forbidden" else message
    if isinstance(found, dict | list):
        found = f"{len(found)} items"
    return FaultError.one(path, item, found=found, wanted=wanted, remedy=remedy).faults[0]


def _is_model_name(part: Any) -> bool:
    """Union members and validators appear in pydantic's path; a trainer must not see them."""
    return isinstance(part, str) and (
        part in {"choose_one", "choose_several", "order", "quantity", "mark_places"}
        or part.startswith(("function-", "constrained-", "union", "float", "str"))
        or part == "int"
    )


def _dotted(where: list[Any]) -> str:
    text = ""
    for part in where:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _line_of(tree: Any, where: list[Any]) -> int | None:
    line: int | None = None
    for part in where:
        if not hasattr(tree, "lc"):
            break
        try:
            position = tree.lc.key(part) if isinstance(part, str) else tree.lc.item(part)
            line = position[0] + 1
            tree = tree[part]
        except (KeyError, IndexError, TypeError, AttributeError):
            break
    return line
