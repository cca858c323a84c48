"""Reading a trainer's YAML file into a checked model, with faults that say where."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from scoring import misfits as said
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
        misfits = error.errors(include_url=False)
        raise FaultError(_faults(path, misfits, content, _with_lines(text))) from error


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


def _with_lines(text: str) -> Any:
    """Parse again, keeping line numbers; only done once a fault is known."""
    try:
        return YAML(typ="rt").load(text)
    except (YAMLError, ValueError, RecursionError, TypeError):
        return None


def _faults(
    path: Path, misfits: Iterable[ErrorDetails], content: Any, tree: Any
) -> Iterator[Fault]:
    """Give one fault an item: what a union refuses in several ways is said as alternatives."""
    items: dict[tuple[str | int, ...], list[ErrorDetails]] = {}
    for misfit in misfits:
        items.setdefault(_where(misfit, content), []).append(misfit)
    for where, same in items.items():
        item = dotted(where) or "the whole file"
        line = _line_of(tree, where)
        yield FaultError.one(
            path,
            item if line is None else f"{item} (line {line})",
            found=said.found(same[0]),
            wanted=said.wanted(same),
            remedy=said.remedy(same[0]),
        ).faults[0]


def _where(misfit: ErrorDetails, content: Any) -> tuple[str | int, ...]:
    """Return pydantic's path without the names of models and unions, which nobody wrote."""
    where: list[str | int] = []
    for part in misfit["loc"]:
        if (isinstance(content, dict) and part in content) or (
            isinstance(content, list | tuple) and isinstance(part, int) and part < len(content)
        ):
            content = content[part]
        else:
            continue
        where.append(part)
    if misfit["type"] == "missing":
        where.append(misfit["loc"][-1])
    elif misfit["type"] in {"union_tag_invalid", "union_tag_not_found"}:
        where.append(misfit["ctx"]["discriminator"].strip("'"))
    return tuple(where)


def dotted(where: Iterable[str | int]) -> str:
    """Write a path as a trainer counts: ``decisions[2].options[1].credit``, from 1."""
    text = ""
    for part in where:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _line_of(tree: Any, where: Iterable[str | int]) -> int | None:
    """Return the line of the item, or of the nearest item around it that has one."""
    line: int | None = None
    for part in where:
        if not hasattr(tree, "lc"):
            break
        try:
            position = tree.lc.item(part) if isinstance(part, int) else tree.lc.key(part)
            line = position[0] + 1
            tree = tree[part]
        except (KeyError, IndexError, TypeError, AttributeError):
            break
    return line
