"""The pages of a cohort: what each is called, its notebook, and its address on a server."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

Kind = Literal["manager", "trainer", "person"]

HERE = Path(__file__).parent

DOORS: tuple[tuple[Kind, str, str, Path], ...] = (
    ("manager", "Department", "/cohort", HERE / "cohort.ipynb"),
    ("trainer", "Exams and assessors", "/cohort/trainer", HERE / "trainer.ipynb"),
    ("person", "One person", "/cohort/person", HERE / "person.ipynb"),
)
"""Kind of page, what its link says, its address, its notebook."""


def cohort_pages() -> dict[str, Path]:
    """Return the notebook of each address."""
    return {address: notebook for _, _, address, notebook in DOORS}
