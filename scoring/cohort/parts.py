"""The templates of the manager's sections, with the words that they share."""

from __future__ import annotations

from pathlib import Path

import jinja2

from scoring.cohort.saying import (
    STATION_NAMES,
    count,
    number_with_span,
    percent,
    share_with_span,
    with_span,
)
from scoring.printing import page_templates

TEMPLATES = Path(__file__).with_name("templates")


def part(name: str, **given: object) -> str:
    """Return what one section's template makes of what it is given."""
    return templates().get_template(f"{name}.html.j2").render(**given)


def templates() -> jinja2.Environment:
    """Return the templates of the pages."""
    pages = page_templates(TEMPLATES)
    pages.filters["count"] = count
    pages.filters["station"] = STATION_NAMES.__getitem__
    pages.globals["with_span"] = with_span
    pages.globals["percent"] = percent
    pages.globals["number"] = number_with_span
    pages.globals["share"] = share_with_span
    return pages
