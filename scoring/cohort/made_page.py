"""A page ready to be written or served: its article, its tables, what it finds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from scoring.cohort.parts import part
from scoring.cohort.render import Heading, css
from scoring.cohort.section import Finding, Section, Sheet
from scoring.spreadsheet import csv_bytes
from scoring.workbook import xlsx_bytes

MOST_FINDINGS = 6
"""Findings under "In short": what is read before a meeting begins. A working judgement."""

Offered = Sequence[tuple[str, str]]
"""Name and address of each file to take away."""

CSV_TYPE = "text/csv;charset=utf-8"
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True)
class MadePage:
    """One page.

    Attributes
    ----------
    kind : str
        ``cohort``, ``trainer`` or ``person``: also the class of its article.
    heading : Heading
    article : callable
        Makes the ``<article>`` with the files that it offers.
    sheets : tuple of Sheet
    findings : tuple of Finding
    """

    kind: str
    heading: Heading
    article: Callable[[Offered], str]
    sheets: tuple[Sheet, ...]
    findings: tuple[Finding, ...]

    def tables(self) -> dict[str, bytes]:
        """Return each table as CSV, by name of its file."""
        return {f"{one.name}.csv": csv_bytes(one.head, one.rows) for one in self.sheets}

    def workbook(self) -> bytes:
        """Return all tables as one workbook; empty where there is no table."""
        return xlsx_bytes(self.sheets) if self.sheets else b""

    def whole(self, files: Offered) -> str:
        """Return the page with its style, to open or print anywhere; it has no script."""
        return part(
            "page",
            title=self.heading.title,
            invented=self.heading.invented,
            css=css(),
            body=self.article(files),
        )


def page_of_sections(
    kind: str,
    heading: Heading,
    lead: Sequence[str],
    sections: Sequence[Section],
    about: str,
    *,
    in_short: bool = True,
) -> MadePage:
    """Return a page that is a row of sections.

    Parameters
    ----------
    kind : str
        Class of its article, and start of its own ids.
    heading : Heading
        Its notes stand under "In short", its origin at the foot.
    lead : sequence of str
        Sentences below the title.
    sections : sequence of Section
        In the order of reading; the first findings of each go under "In short".
    about : str
        What it rests on, for the line below the title; may be empty.
    in_short : bool
        Put the first findings before everything; a page of one sheet needs none.

    Raises
    ------
    ValueError
        Two sections or two tables of one name.
    """
    sheets = tuple(sheet for section in sections for sheet in section.sheets)
    for what, names in (
        ("sections", [section.id for section in sections]),
        ("tables", [sheet.name for sheet in sheets]),
    ):
        if len(set(names)) < len(names):
            raise ValueError(f"two {what} of one name: {sorted(names)}")
    findings = tuple(finding for section in sections for finding in section.findings)

    def article(files: Offered) -> str:
        return part(
            "sections",
            kind=kind,
            title=heading.title,
            invented=heading.invented,
            when=f"{_day(heading.made)}. {about}".strip(),
            lead=lead,
            findings=findings[:MOST_FINDINGS] if in_short else (),
            notes=heading.notes,
            sections=sections,
            origin=heading.origin,
            files=files,
        )

    return MadePage(kind, heading, article, sheets, findings)


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
