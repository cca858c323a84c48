"""Where the answer logs lie."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from scoring.settings import Settings

Purpose = Literal["lesson", "exam"]

_FOLDERS: dict[Purpose, str] = {"lesson": "lessons", "exam": "exams"}


def logs_folder(settings: Settings, purpose: Purpose) -> Path:
    """Return the folder that holds all logs of one purpose."""
    return settings.records / _FOLDERS[purpose]


def lesson_log(settings: Settings, operator: str, sitting: str) -> Path:
    """Return ``<records>/lessons/<operator>/<sitting>.jsonl``."""
    return logs_folder(settings, "lesson") / operator / f"{sitting}.jsonl"


def exam_log(settings: Settings, sitting: str) -> Path:
    """Return ``<records>/exams/<sitting>.jsonl``."""
    return logs_folder(settings, "exam") / f"{sitting}.jsonl"


def find_logs(settings: Settings, purpose: Purpose) -> tuple[Path, ...]:
    """Return every log of one purpose, sorted by path; empty when none was written yet."""
    folder = logs_folder(settings, purpose)
    return tuple(sorted(folder.rglob("*.jsonl"))) if folder.is_dir() else ()
