"""The verb `cohort`: the pages of the manager and the trainer, or the same as files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rich.markup import escape

from assessments.command.doors import cohort_doors, open_doors
from assessments.command.progress import said
from assessments.exam_form import exam_forms
from lessons.serving.server import LOOPBACK
from lessons.serving.start_page import COHORT_DOOR
from scoring.cohort.asked import Asked
from scoring.cohort.pages import (
    MANAGER_TITLE,
    TRAINER_TITLE,
    Cohort,
    load,
    manager_page,
    person_page,
    trainer_page,
)
from scoring.cohort.report import REPORT_STEM, TABLES_FOLDER
from scoring.cohort.section import Finding
from scoring.cohort.written import Written, write_page
from scoring.faults import FaultError
from scoring.settings import Settings

TRAINER = "trainer-report"
TRAINER_TABLES = "trainer-tables"


def open_page(settings: Settings, asked: Asked, *, port: int, browser: bool) -> None:
    """Serve the pages of manager and trainer on this machine only.

    Raises
    ------
    FaultError
        A part was asked for: on a page it is chosen there.
    """
    if not asked.everything:
        raise FaultError.one(
            "the command line",
            "--place, --station, --since, --until",
            found="no report to write",
            wanted="one of --report, --trainer, --person with them",
            remedy="Leave them out: on the page the same is chosen from lists.",
        )
    open_doors(settings, cohort_doors(), port=port, ip=LOOPBACK, browser=browser, path=COHORT_DOOR)


def read_cohort(settings: Settings) -> Cohort:
    """Read the records once, for as many pages as are wanted."""
    return load(settings, {form.name: form.counts for form in exam_forms()})


def write_asked(
    settings: Settings,
    asked: Asked,
    title: str,
    *,
    report: Path | None,
    trainer: Path | None,
    person: tuple[str, Path] | None,
) -> None:
    """Write each page that a folder is given for."""
    cohort = read_cohort(settings)
    if report is not None:
        report_to(cohort, asked, report, title)
    if trainer is not None:
        trainer_to(cohort, asked, trainer, title)
    if person is not None:
        person_to(cohort, asked, *person)


def report_to(cohort: Cohort, asked: Asked, folder: Path, title: str) -> None:
    """Write the manager's report, say its findings and where it is."""
    page = manager_page(cohort, asked, title or MANAGER_TITLE)
    written = write_page(page, folder, REPORT_STEM, TABLES_FOLDER)
    say_findings(page.findings)
    say_written("Report", written)


def trainer_to(cohort: Cohort, asked: Asked, folder: Path, title: str) -> None:
    """Write the trainer's report, say its findings and where it is."""
    page = trainer_page(cohort, asked, title or TRAINER_TITLE)
    written = write_page(page, folder, TRAINER, TRAINER_TABLES)
    say_findings(page.findings)
    say_written("Trainer's report", written)


def person_to(cohort: Cohort, asked: Asked, code: str, folder: Path) -> None:
    """Write the sheet of one person and say where it is."""
    say_written("Sheet", write_page(person_page(cohort, code, asked), folder, f"person-{code}"))


@dataclass(frozen=True, slots=True)
class Reports:
    """What was written: the manager's findings, and each report by what it is."""

    findings: tuple[Finding, ...]
    written: tuple[tuple[str, Written], ...]


def write_reports(
    settings: Settings, folder: Path, title: str, origin: Sequence[tuple[str, str]] = ()
) -> Reports:
    """Write the reports of manager and trainer on the whole records.

    `origin` is added to what the index knows of where the data come from.
    """
    cohort = read_cohort(settings)
    manager = manager_page(cohort, Asked(), title, origin)
    trainer = trainer_page(cohort, Asked(), f"{title}: {TRAINER_TITLE}", origin)
    return Reports(
        manager.findings,
        (
            ("The manager's report", write_page(manager, folder, REPORT_STEM, TABLES_FOLDER)),
            ("The trainer's report", write_page(trainer, folder, TRAINER, TRAINER_TABLES)),
        ),
    )


def asked_for(place: str, station: str, since: str, until: str) -> Asked:
    """Return what the options ask for.

    Raises
    ------
    FaultError
        A day that is none.
    """
    return Asked(place, station, _day("--since", since), _day("--until", until))


def _day(option: str, text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise FaultError.one(
            "the command line",
            option,
            found=text,
            wanted="a day as year-month-day, such as 2025-03-31",
            remedy="Write the day in that form.",
        ) from error


def say_findings(findings: Sequence[Finding]) -> None:
    """Say each finding: the headline, then what it rests on."""
    for number, finding in enumerate(findings, start=1):
        said.print(f"{number}. [bold]{escape(finding.headline)}[/bold]")
        if finding.support:
            said.print(f"   {escape(finding.support)}")


def say_written(what: str, written: Written) -> None:
    """Say where a page is, to read and to print."""
    said.print(f"{what}: {escape(str(written.html))}")
    said.print(f"To print: {escape(str(written.pdf))}")
    if written.tables:
        said.print(f"Tables: {escape(str(written.tables[-1]))}")
