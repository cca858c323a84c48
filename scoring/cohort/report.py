"""The printed report: one page that needs nothing else, and the tables beside it."""

from __future__ import annotations

from pathlib import Path

from scoring import KIT_VERSION
from scoring.cohort.brief import Brief
from scoring.cohort.render import Heading, page
from scoring.spreadsheet import csv_bytes
from scoring.whole_file import write_whole

REPORT_NAME = "cohort-report.html"
TABLES_FOLDER = "tables"


def write_report(brief: Brief, folder: Path, heading: Heading) -> Path:
    """Write the report of a cohort.

    Parameters
    ----------
    brief : Brief
        What the report says; :func:`scoring.cohort.brief.make_brief` computes it.
    folder : Path
        Where the page and its folder of tables go; made when missing, files of
        the same name are replaced.
    heading : Heading
        Title, date and origin; the kit's version is added to the origin.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    FaultError
        The folder cannot be written.
    """
    said = Heading(
        heading.title,
        heading.invented,
        heading.made,
        (*heading.origin, ("Version of the kit", KIT_VERSION)),
        heading.notes,
    )
    tables = {f"{sheet.name}.csv": csv_bytes(sheet.head, sheet.rows) for sheet in brief.sheets}
    files = [(name, f"{TABLES_FOLDER}/{name}") for name in tables]
    for name, content in tables.items():
        write_whole(folder / TABLES_FOLDER / name, content)
    return write_whole(folder / REPORT_NAME, page(brief, said, files))
