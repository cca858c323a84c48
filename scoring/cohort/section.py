"""A part of a page: its words and figures, what it finds, and its tables for a spreadsheet.

Every page (the manager's, the trainer's, one person's) is a row of sections. A section
is made by one module from tables and site values; it knows nothing of the page around it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.spreadsheet import Row


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding.

    Attributes
    ----------
    topic : str
        What it is about, as a code: who, result, critical, mistake, people, time, plan, …
    headline : str
        The finding in one sentence.
    support : str
        Interval, n and what the data cannot tell.
    """

    topic: str
    headline: str
    support: str

    def __str__(self) -> str:
        return f"{self.headline} {self.support}".strip()


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table to take away, as CSV or as a sheet of a workbook.

    Attributes
    ----------
    name : str
        Short, of letters, digits and ``-``; becomes the name of a file.
    head : sequence of str
    rows : sequence of sequence
        Numbers as numbers, dates as dates, nothing as None.
    """

    name: str
    head: Sequence[str]
    rows: Sequence[Row]


@dataclass(frozen=True, slots=True)
class Section:
    """One part of a page.

    Attributes
    ----------
    id : str
        Unique on the page; the heading's id.
    title : str
        The heading, plain text.
    html : str
        What stands below the heading: made by this project's templates, which escape
        everything that comes from files.
    findings : tuple of Finding
        What belongs under "In short", the most useful first.
    sheets : tuple of Sheet
    """

    id: str
    title: str
    html: str
    findings: tuple[Finding, ...] = ()
    sheets: tuple[Sheet, ...] = ()
