"""The lesson library, the page that plays it, and the server that shows it."""

from pathlib import Path

from scoring.library import Library

HERE = Path(__file__).parent
DEFAULT_SITE = HERE / "sites" / "invented-three-bays.yaml"
"""Site values of an invented department, used until a department writes its own."""


def lesson_library() -> Library:
    """Return the scenarios that lessons are made of."""
    return Library([HERE / "scenarios"], HERE / "instruments")
