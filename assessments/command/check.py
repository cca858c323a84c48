"""The verb `check`: every fault of every file, and the schemas for editors."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.markup import escape

import assessments
import lessons
from assessments.command.outcome import Outcome, say_faults, stop
from assessments.command.progress import counting, said
from lessons.drawing.words import InstrumentWords
from scoring.check import (
    ExtraKind,
    check_files,
    checklist_faults,
    checklist_words_faults,
    label_faults,
)
from scoring.checklist import Checklist, ChecklistWords
from scoring.library import Library
from scoring.schemas import write_schemas
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

KINDS = (
    ExtraKind("words of an instrument", InstrumentWords, label_faults),
    ExtraKind("checklist", Checklist, checklist_faults),
    ExtraKind("words of a checklist", ChecklistWords, checklist_words_faults),
)
"""Kinds of file beside those of a lesson or an exam."""

KIT_FILES = (
    lessons.HERE / "scenarios",
    lessons.HERE / "instruments",
    lessons.HERE / "sites",
    assessments.HERE / "bank",
    assessments.HERE / "forms",
    assessments.HERE / "checklists",
)
"""What is checked when no file is named: everything a trainer may edit."""


def run_check(paths: Sequence[Path]) -> None:
    """Check files and folders, say every fault, and end with `Outcome.FAULTS` if there is one."""
    library = Library(
        [lessons.HERE / "scenarios", assessments.HERE / "bank"], lessons.HERE / "instruments"
    )
    sites = [
        read_yaml(path, SiteValues) for path in sorted((lessons.HERE / "sites").glob("*.yaml"))
    ]
    wanted = list(paths) or list(KIT_FILES)
    with counting("Checking files") as tell:
        faults = check_files(wanted, library, sites, extra=KINDS, tell=tell)
    if faults:
        say_faults(faults)
        stop(Outcome.FAULTS)
    said.print("No fault found.")


def write_schemas_to(folder: Path) -> None:
    """Write the JSON Schemas and say where."""
    written = write_schemas(
        folder,
        {
            "instrument-words": InstrumentWords,
            "checklist": Checklist,
            "checklist-words": ChecklistWords,
        },
    )
    said.print(f"{len(written)} schemas written to {escape(str(folder))}")
