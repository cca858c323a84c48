"""The printed report: one page that needs nothing else, and the tables beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path

from scoring import KIT_VERSION
from scoring.cohort.brief import Brief, make_brief
from scoring.cohort.render import Heading, page
from scoring.marking.marks import SittingMarks
from scoring.whole_file import write_whole

REPORT_NAME = "cohort-report.html"
TABLES_FOLDER = "tables"


def write_report(
    marks: Iterable[SittingMarks],
    folder: Path,
    *,
    title: str,
    invented: bool,
    made: date | None = None,
    origin: Sequence[tuple[str, str]] = (),
    notes: Sequence[str] = (),
    severity: Mapping[str, int] | None = None,
) -> Path:
    """Compute the report of these marks and write it.

    Parameters
    ----------
    marks : iterable of SittingMarks
        The sittings that count.
    folder : Path
        Where the page and its folder of tables go; made when missing, files of
        the same name are replaced.
    title : str
    invented : bool
        The data are invented; the report then says so at its head.
    made : date, optional
        Date on the report; today when left out.
    origin : sequence of (str, str)
        Where the data come from (forms and their digests, site, seed), as name and value.
    notes : sequence of str
        Sentences on what is left out of the figures.
    severity : mapping of str to int, optional
        The site's own severities of mistakes.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    FaultError
        The folder cannot be written.
    ValueError
        A sitting stands twice.
    """
    return write_brief(
        make_brief(marks, severity),
        folder,
        Heading(title, invented, made or date.today(), origin, notes),
    )


def write_brief(brief: Brief, folder: Path, heading: Heading) -> Path:
    """Write a brief that is already computed; see `write_report`."""
    said = Heading(
        heading.title,
        heading.invented,
        heading.made,
        (*heading.origin, ("Version of the kit", KIT_VERSION)),
        heading.notes,
    )
    files = [(name, f"{TABLES_FOLDER}/{name}") for name in brief.files]
    for name, content in brief.files.items():
        write_whole(folder / TABLES_FOLDER / name, content)
    return write_whole(folder / REPORT_NAME, page(brief, said, files))
