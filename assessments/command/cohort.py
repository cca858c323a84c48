"""The verb `cohort`: the manager's page, or the printed report."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from rich.markup import escape

from assessments.command.doors import cohort_doors, open_doors
from assessments.command.progress import said
from assessments.exam_form import exam_forms
from lessons.serving.server import LOOPBACK
from lessons.serving.start_page import COHORT_DOOR
from scoring.cohort.brief import Brief, make_brief
from scoring.cohort.gather import gather
from scoring.cohort.page import TITLE, notes
from scoring.cohort.render import Heading
from scoring.cohort.report import write_report
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml


def open_page(settings: Settings, *, port: int, browser: bool) -> None:
    """Serve the manager's page on this machine only."""
    open_doors(settings, cohort_doors(), port=port, ip=LOOPBACK, browser=browser, path=COHORT_DOOR)


def report_to(settings: Settings, folder: Path, title: str) -> None:
    """Write the printed report, say its findings and where it is."""
    brief, page = write_printed(settings, folder, title)
    say_findings(brief)
    said.print(f"Report: {escape(str(page))}")


def write_printed(
    settings: Settings, folder: Path, title: str, origin: Sequence[tuple[str, str]] = ()
) -> tuple[Brief, Path]:
    """Write the printed report of the records; return what it says and its path.

    `origin` is added to what the index knows of where the data come from.
    """
    gathered = gather(settings, {form.name: form.counts for form in exam_forms()})
    brief = make_brief(gathered.table, read_yaml(settings.site, SiteValues).severity)
    heading = Heading(
        title or TITLE,
        gathered.invented,
        date.today(),
        (*gathered.origin, *origin),
        notes(gathered),
    )
    return brief, write_report(brief, folder, heading)


def say_findings(brief: Brief) -> None:
    """Say each finding: the headline, then what it rests on."""
    for number, finding in enumerate(brief.findings, start=1):
        said.print(f"{number}. [bold]{escape(finding.headline)}[/bold]")
        if finding.support:
            said.print(f"   {escape(finding.support)}")
