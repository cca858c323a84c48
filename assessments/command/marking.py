"""Marking a form from the command line."""

from __future__ import annotations

from rich.markup import escape

from assessments.command.outcome import Outcome, errors, stop
from assessments.command.progress import counting, said
from assessments.exam_form import find_form
from assessments.marking import mark_form
from scoring.settings import Settings


def mark_sittings(settings: Settings, form_name: str) -> None:
    """Mark a form; ends with `Outcome.FAULTS` when a handed-in sitting could not be marked."""
    form = find_form(form_name)
    with counting("Marking") as tell:
        report = mark_form(settings, form, progress=tell)
    number = len(report.counted)
    sittings = "1 sitting" if number == 1 else f"{number} sittings"
    said.print(f"{sittings} of {report.form} marked now and stored in the gradebook.")
    waiting = [each for each in report.not_assessed if each.waiting]
    refused = [each for each in report.not_assessed if not each.waiting]
    for each in waiting:
        said.print(f"  {escape(each.operator)}: {escape(each.reason)}")
    if report.counted:
        said.print(f"Feedback sheets: {escape(str(report.feedback))}")
        said.print(f"Gradebook:       {escape(report.gradebook)}")
    for each in refused:
        verdict = "not marked now, earlier marks stand" if each.kept else "not assessed"
        errors.print(
            f"[bold]{escape(each.operator)}[/bold] {verdict}: {escape(each.reason)}"
            f" (sitting {escape(each.sitting)})"
        )
        if each.remedy:
            errors.print(f"    remedy: {escape(each.remedy)}")
    if refused:
        stop(Outcome.FAULTS)
