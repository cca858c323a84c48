"""Checking what a trainer wrote before anybody sits it: each file alone, then all together."""

from scoring.check.checklists import checklist_faults, checklist_words_faults
from scoring.check.files import check_files
from scoring.check.kinds import ExtraKind
from scoring.check.labels import label_faults

__all__ = [
    "ExtraKind",
    "check_files",
    "checklist_faults",
    "checklist_words_faults",
    "label_faults",
]
