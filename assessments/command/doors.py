"""Which pages a server opens, and how it is started from the command line."""

from __future__ import annotations

from pathlib import Path

from rich.markup import escape

import assessments
import lessons
from assessments.command.progress import said
from lessons.serving.server import LOOPBACK, serve
from lessons.serving.start_page import EXAM_DOOR, station_door
from scoring.cohort.doors import cohort_pages
from scoring.model import STATIONS
from scoring.settings import Settings


def learning_doors() -> dict[str, Path]:
    """Return the doors a trainee may open: a lesson page for each station, and the exam."""
    pages = {station_door(station): lessons.HERE / f"{station}.ipynb" for station in STATIONS}
    pages[EXAM_DOOR] = assessments.HERE / "exam.ipynb"
    return {door: page for door, page in pages.items() if page.exists()}


def cohort_doors() -> dict[str, Path]:
    """Return the doors of manager and trainer; they stand open on no server trainees reach."""
    return dict(cohort_pages())


CURVES_DOOR = "/curves"


def curves_doors() -> dict[str, Path]:
    """Return the trainer's door to the curves; exams are sat on servers without it."""
    return {CURVES_DOOR: lessons.HERE / "curves" / "curves.ipynb"}


def open_doors(
    settings: Settings, doors: dict[str, Path], *, port: int, ip: str, browser: bool, path: str
) -> None:
    """Serve `doors` until Ctrl+C, saying first where and what is protected."""

    def ready(address: str) -> None:
        said.print(f"Open in the browser: [bold]{escape(address + path.lstrip('/'))}[/bold]")
        said.print(f"Records are kept in  {escape(str(settings.records))}")
        if ip != LOOPBACK:
            said.print(
                "Everybody in this network can reach the page. Exams need a code and a PIN; "
                "lessons need only a code."
            )
        said.print("Leave this window open. Press Ctrl+C to close the page.")

    serve(settings, doors, port=port, ip=ip, open_browser=browser, open_path=path, when_ready=ready)
