"""A page as files in a folder: HTML, PDF, and its tables as CSV and as one workbook."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from scoring.cohort.made_page import MadePage
from scoring.cohort.pdf import pdf_bytes
from scoring.whole_file import write_whole


@dataclass(frozen=True, slots=True)
class Written:
    """Where a page was written.

    Attributes
    ----------
    html, pdf : Path
    tables : tuple of Path
        The CSV files and, last, the workbook; empty where the page has no table.
    """

    html: Path
    pdf: Path
    tables: tuple[Path, ...]


def write_page(page: MadePage, folder: Path, name: str, tables: str = "") -> Written:
    """Write a page; files of the same names are replaced.

    Parameters
    ----------
    page : MadePage
    folder : Path
        Made when missing.
    name : str
        Name of the page's files, without an ending: ``cohort-report``.
    tables : str
        Name of the folder of tables and of the workbook; empty writes no table.

    Returns
    -------
    Written

    Raises
    ------
    FaultError
        A file cannot be written.
    """
    csv_files = page.tables() if tables else {}
    offered = [(one, f"{tables}/{one}") for one in csv_files]
    written = [write_whole(folder / tables / one, csv_files[one]) for one in csv_files]
    if csv_files:
        offered.append((f"{tables}.xlsx", f"{tables}.xlsx"))
        written.append(write_whole(folder / f"{tables}.xlsx", page.workbook()))
    heading = page.heading
    pdf = pdf_bytes(
        page.article(()),
        heading.title,
        heading.made,
        invented=heading.invented,
        one_sheet=page.kind == "person",
    )
    return Written(
        html=write_whole(folder / f"{name}.html", page.whole(offered)),
        pdf=write_whole(folder / f"{name}.pdf", pdf),
        tables=tuple(written),
    )
