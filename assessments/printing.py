"""Filling the printed pages. Every value is escaped, so no name or answer becomes HTML."""

from __future__ import annotations

import os
from pathlib import Path

import jinja2

from scoring.faults import FaultError

TEMPLATES = Path(__file__).parent / "templates"


def render(template: str, **values: object) -> str:
    """Fill a template of this package.

    A value that a template names and nobody gave is an error, never a gap in print.
    """
    pages = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return pages.get_template(template).render(**values)


def write_page(path: Path, text: str) -> Path:
    """Write a printed page whole or not at all, and return its path.

    Raises
    ------
    FaultError
        The place cannot be written.
    """
    part = path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        raise FaultError.one(
            path,
            "the whole file",
            found=error.strerror or type(error).__name__,
            wanted="a place that can be written",
            remedy="Free some space or choose another folder, then try again.",
        ) from error
    return path
