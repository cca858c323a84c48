"""The templates of printed pages: every value is escaped, so no name or answer becomes HTML."""

from __future__ import annotations

from pathlib import Path

import jinja2


def page_templates(folder: Path) -> jinja2.Environment:
    """Return the templates of a folder.

    A value that a template names and nobody gave is an error, never a gap in print.
    """
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
