"""Filling the printed pages. Every value is escaped, so no name or answer becomes HTML."""

from __future__ import annotations

from pathlib import Path

import jinja2

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
