"""Listing exam forms and seating candidates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rich.markup import escape

from assessments import exam_library
from assessments.command.progress import said
from assessments.exam_form import exam_forms, find_form
from assessments.roster import read_roster
from assessments.seating import seat
from assessments.slips import slips_html, slips_text
from scoring.faults import Fault, FaultError
from scoring.settings import Settings
from scoring.whole_file import write_whole


def list_forms() -> None:
    """Say each form with its title, length and scenarios."""
    for form in exam_forms():
        said.print(f"[bold]{form.name}[/bold]  {escape(form.title['en'])}, {form.minutes} min")
        said.print("    " + ", ".join(part.id for part in form.scenarios))


def seat_candidates(
    settings: Settings,
    form_name: str,
    codes: Sequence[str],
    *,
    roster: Path | None,
    slips: Path | None,
    new_pins: bool,
) -> None:
    """Seat the people named by code or roster, and give out their PINs once."""
    form = find_form(form_name)
    names: dict[str, str] = {}
    if roster is not None:
        names = {entry.code: entry.name for entry in read_roster(roster)}
        codes = [*codes, *names]
    digest = exam_library().form_digest(form)
    given = seat(settings, form, digest, codes, new_pins=new_pins)
    if slips is None:
        said.print(escape(slips_text(given, form.title["en"])))
    else:
        try:
            write_whole(slips, slips_html(given, form.title["en"], names))
        except FaultError as error:
            raise FaultError([_pins_lost(fault) for fault in error.faults]) from error
        said.print(f"{len(given)} PIN slips written to {escape(str(slips))}")
        said.print("Print them, hand them out, then delete the file: the PINs stand in it.")


def _pins_lost(fault: Fault) -> Fault:
    """Say what a page of slips that cannot be written means: seated, and nobody knows the PINs."""
    return replace(
        fault,
        found=f"{fault.found}; the people are seated, but their PINs went with the page",
        remedy="Name another place with --slips, and add --new-pins to the same command.",
    )
