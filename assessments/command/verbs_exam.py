"""The verb `exam` and what a trainer does with it: list, seat, mark."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from assessments.command.options import Records, Site, make_settings

exam = typer.Typer(
    help="Seat candidates for an exam, and mark what they handed in. "
    "Candidates sit at the page that `sinkside learn` opens.",
    no_args_is_help=True,
)

FormName = Annotated[str, typer.Argument(metavar="FORM", help="Name of the form; see `forms`.")]


@exam.command()
def forms() -> None:
    """List the exam forms."""
    from assessments.command.exam import list_forms

    list_forms()


@exam.command()
def seat(
    form: FormName,
    codes: Annotated[
        list[str] | None, typer.Argument(metavar="[CODE]...", help="Operator codes, as OP-017.")
    ] = None,
    roster: Annotated[
        Path | None, typer.Option(help="CSV file with the columns code and name, instead of codes.")
    ] = None,
    slips: Annotated[
        Path | None,
        typer.Option(help="Write the PIN slips as a page to print; else they are shown here."),
    ] = None,
    new_pins: Annotated[
        bool,
        typer.Option(
            "--new-pins",
            help="Lost slip or locked code: a new PIN for people seated already; answers are kept.",
        ),
    ] = False,
    records: Records = None,
    site: Site = None,
) -> None:
    """Seat candidates; each gets a one-time PIN. The PINs are shown once and kept nowhere."""
    from assessments.command.exam import seat_candidates

    settings = make_settings(records, site)
    seat_candidates(settings, form, codes or [], roster=roster, slips=slips, new_pins=new_pins)


@exam.command()
def mark(form: FormName, records: Records = None, site: Site = None) -> None:
    """Mark every handed-in sitting: gradebook, index, and a feedback sheet for each person."""
    from assessments.command.marking import mark_sittings

    mark_sittings(make_settings(records, site), form)
