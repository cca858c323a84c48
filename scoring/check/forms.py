"""Forms and site values against the scenarios and the catalogue."""

from __future__ import annotations

from collections.abc import Iterator

from scoring.catalogue import mistakes
from scoring.check.desk import CheckedFile, Desk
from scoring.faults import Fault


def form_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find scenarios that are not there, and a second form of the same name and version."""
    form = file.value
    yield from file.name_faults(form.id, form.name)
    for number, part in enumerate(form.scenarios):
        if desk.scenario(part.id) is None:
            yield from desk.missing(file, ("scenarios", number, "id"), "a scenario", part.id)
    for other in desk.of_kind("form"):
        if other is not file and other.value.name == form.name:
            yield file.fault(
                ("version",),
                f"{form.id}, version {form.version}",
                f"a form that {other.path} is not too",
                "Give the newer of the two the next version number.",
            )


def site_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find severities of mistakes that the catalogue does not have."""
    for name in file.value.severity:
        if name not in mistakes():
            yield file.fault(
                ("severity", name),
                name,
                "the id of a mistake in the catalogue",
                "Check the id in scoring/catalogue/mistakes.csv.",
            )
