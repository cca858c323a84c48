"""Reading a trainer's YAML file into a checked model, with faults that say where."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Iterator
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError, YAMLWarning

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
    text, content = load_yaml(path)
    return fit(path, text, content, model)


def load_yaml(path: Path) -> tuple[str, dict[Any, Any]]:
    """Return the text of a YAML file and what it says, not yet checked against a model.

    Raises
    ------
    FaultError
        The file cannot be read, is no YAML, or holds no items.
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
    return text, content


def fit(path: Path, text: str, content: dict[Any, Any], model: type[Checked]) -> Checked:
    """Check what `load_yaml` returned against a model.

    Parameters
    ----------
    path : Path
        Named in faults only.
    text : str
        The text of the file, where faults look up their lines.
    content : dict
        What it says.
    model : type
        A pydantic model.

    Raises
    ------
    FaultError
        The content does not fit; every misfit is a fault of its own.
    """
    try:
        return model.model_validate(content)
    except ValidationError as error:
        misfits = error.errors(include_url=False)
        raise FaultError(_faults(path, misfits, content, Lines(text))) from error


class Lines:
    """Where each item of a text stands; the text is parsed again when first asked.

    Parameters
    ----------
    text : str
        The text of a YAML file.
    """

    def __init__(self, text: str) -> None:
        self._text = text

    @cached_property
    def _tree(self) -> Any:
        try:
            return YAML(typ="rt").load(self._text)
        except (YAMLError, ValueError, RecursionError, TypeError):
            return None

    def item(self, where: tuple[str | int, ...]) -> str:
        """Name an item with its line: ``decisions[2].kind (line 31)``."""
        name = dotted(where) or "the whole file"
        line = self._line(where)
        return name if line is None else f"{name} (line {line})"

    def _line(self, where: tuple[str | int, ...]) -> int | None:
        """Return the line of the item, or of the nearest item around it that has one."""
        line: int | None = None
        tree = self._tree
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
        with warnings.catch_warnings():
            # What ruamel only warns of (a name given twice) is a slip in a trainer's file.
            warnings.simplefilter("error", YAMLWarning)
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
    except (YAMLError, YAMLWarning, ValueError, RecursionError, TypeError) as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=next(iter(str(error).strip().splitlines()), type(error).__name__),
            wanted="YAML: `name: value`, items of a list after a dash, two spaces a level",
            remedy="Compare it with the files that come with the kit.",
        ) from error


def _faults(
    path: Path, misfits: Iterable[ErrorDetails], content: Any, lines: Lines
) -> Iterator[Fault]:
    """Give one fault an item: what a union refuses in several ways is said as alternatives."""
    items: dict[tuple[str | int, ...], list[ErrorDetails]] = {}
    for misfit in misfits:
        items.setdefault(_where(misfit, content), []).append(misfit)
    for where, same in items.items():
        yield FaultError.one(
            path,
            lines.item(where),
            found=said.found(same[0]),
            wanted=said.wanted(same),
            remedy=said.remedy(same[0]),
        ).faults[0]


def _where(misfit: ErrorDetails, content: Any) -> tuple[str | int, ...]:
    """Return pydantic's path without the names of models and unions, which nobody wrote."""
    where: list[str | int] = []
    inner: Any = content
    for part in misfit["loc"]:
        if isinstance(inner, dict):
            written = part in inner
        else:
            long = len(inner) if isinstance(inner, list | tuple) else 0
            written = isinstance(part, int) and part < long
        if written:
            inner = inner[part]
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
