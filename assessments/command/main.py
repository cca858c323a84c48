"""The command `sinkside` and its verbs."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from assessments.command.options import (
    DEFAULT_PORT,
    Browser,
    Ip,
    Port,
    Records,
    Site,
    make_settings,
)
from assessments.command.outcome import Outcome, guarded
from assessments.command.verbs_exam import exam
from scoring import KIT_VERSION

app = typer.Typer(
    name="sinkside",
    help="Teach hand cleaning of surgical instruments, prove competency, see where people differ.",
    epilog="It teaches; it never validates a cleaning process. The instructions for use, the "
    "chemical's label and your local rules come first.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.add_typer(exam, name="exam")


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Say the version and stop.")] = False,
) -> None:
    if version:
        typer.echo(KIT_VERSION)
        raise typer.Exit


@app.command()
def demo(
    folder: Annotated[Path, typer.Option(help="Where records and report go.")] = Path(
        "sinkside-demo"
    ),
) -> None:
    """Mark an invented department and write its report; ends by itself."""
    from assessments.command.demo import run_demo

    run_demo(folder)


@app.command()
def learn(
    records: Records = None,
    site: Site = None,
    port: Port = DEFAULT_PORT,
    ip: Ip = "127.0.0.1",
    browser: Browser = True,
) -> None:
    """Open the lessons and the exam room in the browser."""
    from assessments.command.doors import learning_doors, open_doors

    settings = make_settings(records, site)
    open_doors(settings, learning_doors(), port=port, ip=ip, browser=browser, path="/")


@app.command()
def cohort(
    records: Records = None,
    site: Site = None,
    port: Port = DEFAULT_PORT + 1,
    browser: Browser = True,
    report: Annotated[
        Path | None,
        typer.Option(help="Write the manager's report into this folder; no page is opened."),
    ] = None,
    trainer: Annotated[
        Path | None,
        typer.Option(help="Write the trainer's report into this folder; no page is opened."),
    ] = None,
    person: Annotated[
        tuple[str, Path] | None,
        typer.Option(
            metavar="CODE FOLDER",
            help="Write the sheet of one operator, by code, into this folder; no page is opened.",
        ),
    ] = None,
    title: Annotated[str, typer.Option(help="Name of the department on the reports.")] = "",
    place: Annotated[str, typer.Option(help="Only this site, as operators.csv names it.")] = "",
    station: Annotated[
        str, typer.Option(help="Only this step: ready, soak, brush, rinse or inspect.")
    ] = "",
    since: Annotated[str, typer.Option(help="Only from this day on: 2025-03-31.")] = "",
    until: Annotated[str, typer.Option(help="Only up to this day: 2025-06-30.")] = "",
) -> None:
    """Show how the department does: at which step people differ, and how sure that is."""
    from assessments.command.cohort import asked_for, open_page, write_asked

    settings = make_settings(records, site)
    asked = asked_for(place, station, since, until)
    if report is not None or trainer is not None or person is not None:
        write_asked(settings, asked, title, report=report, trainer=trainer, person=person)
    else:
        open_page(settings, asked, port=port, browser=browser)


@app.command()
def curves(
    site: Site = None,
    port: Port = DEFAULT_PORT + 2,
    browser: Browser = True,
) -> None:
    """Show what time, dose, warmth, strokes and rinses do, at the department's own values."""
    from assessments.command.doors import CURVES_DOOR, curves_doors, open_doors

    settings = make_settings(None, site)
    open_doors(
        settings, curves_doors(), port=port, ip="127.0.0.1", browser=browser, path=CURVES_DOOR
    )


@app.command()
def check(
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Files or folders. Without any: everything that comes with the kit."),
    ] = None,
    schemas: Annotated[
        Path | None,
        typer.Option(help="Write JSON Schemas for your editor into this folder, and stop."),
    ] = None,
) -> None:
    """Check scenarios, words, instruments, site values, forms and answer logs."""
    from assessments.command.check import run_check, write_schemas_to

    if schemas is not None:
        write_schemas_to(schemas)
    else:
        run_check(files or [])


def main() -> None:
    """Run `sinkside` and end with an exit code that means something (`Outcome`)."""
    code = guarded(lambda: app(standalone_mode=True, prog_name="sinkside"))
    sys.exit(int(code))


__all__ = ["Outcome", "app", "main"]
