"""Filling the printed pages of an exam: PIN slips and feedback."""

from __future__ import annotations

from pathlib import Path

from scoring.printing import page_templates

TEMPLATES = Path(__file__).parent / "templates"


def render(template: str, **values: object) -> str:
    """Fill a template of this package; see :func:`scoring.printing.page_templates`."""
    return page_templates(TEMPLATES).get_template(template).render(**values)
