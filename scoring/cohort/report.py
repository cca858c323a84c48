"""The manager's report as files: the page to read, the same to print, the tables beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from scoring import KIT_VERSION
from scoring.cohort.brief import Brief
from scoring.cohort.made_page import MadePage
from scoring.cohort.render import Heading, body
from scoring.cohort.written import write_page

REPORT_STEM = "cohort-report"
REPORT_NAME = f"{REPORT_STEM}.html"
TABLES_FOLDER = "tables"


def made_report(brief: Brief, heading: Heading) -> MadePage:
    """Return the manager's page, ready to be written or served.

    Parameters
    ----------
    brief : Brief
        What it says; :func:`scoring.cohort.brief.make_brief` computes it.
    heading : Heading
        Title, date and origin; the kit's version is added to the origin.
    """
    said = with_version(heading)
    return MadePage(
        "cohort", said, lambda files: body(brief, said, files), brief.sheets, brief.findings
    )


def write_report(brief: Brief, folder: Path, heading: Heading) -> Path:
    """Write the report of a cohort as HTML and PDF, with its tables.

    Parameters
    ----------
    brief : Brief
    folder : Path
        Made when missing; files of the same names are replaced.
    heading : Heading
        Title, date and origin; the kit's version is added to the origin.

    Returns
    -------
    Path
        The page as HTML.

    Raises
    ------
    FaultError
        The folder cannot be written.
    """
    return write_page(made_report(brief, heading), folder, REPORT_STEM, TABLES_FOLDER).html


def with_version(heading: Heading) -> Heading:
    """Return the heading with the kit's version at the end of its origin."""
    return replace(heading, origin=(*heading.origin, ("Version of the kit", KIT_VERSION)))
