"""From a brief to HTML: the same parts for the printed report and for the served page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scoring.cohort.brief import Brief
from scoring.cohort.parts import TEMPLATES, part


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over a report and says where it comes from.

    Attributes
    ----------
    title : str
    invented : bool
        The data are invented, and the report says so at its head.
    made : date
    origin : sequence of (str, str)
        Versions, digests, seeds: name and value, shown under "Method and origin".
    notes : sequence of str
        Sentences on what is left out, shown under "In short".
    """

    title: str
    invented: bool
    made: date
    origin: Sequence[tuple[str, str]] = ()
    notes: Sequence[str] = ()


def body(brief: Brief, heading: Heading, files: Sequence[tuple[str, str]]) -> str:
    """Return the article of the report.

    Parameters
    ----------
    brief : Brief
    heading : Heading
    files : sequence of (str, str)
        Name and address of each table file to offer; may be empty.
    """
    made = f"{heading.made.day} {heading.made:%B %Y}"
    return part(
        "body",
        brief=brief,
        title=heading.title,
        invented=heading.invented,
        made=made,
        origin=heading.origin,
        notes=heading.notes,
        files=files,
    )


def page(brief: Brief, heading: Heading, files: Sequence[tuple[str, str]]) -> str:
    """Return the whole report as one page without script, to open or print anywhere."""
    return part(
        "page",
        title=heading.title,
        invented=heading.invented,
        css=css(),
        body=body(brief, heading, files),
    )


def css() -> str:
    """Return the style of the report."""
    return (TEMPLATES / "cohort.css").read_text(encoding="utf-8")
