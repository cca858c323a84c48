"""The pages without a kernel: the start page with its three doors, and two for errors."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from lessons.page.interface import Interface, interface
from scoring.model import STATIONS
from scoring.printing import page_templates

TEMPLATES = Path(__file__).parent / "templates"

EXAM_DOOR = "/exam"
COHORT_DOOR = "/cohort"


def station_door(station: str) -> str:
    """Return the URL path of a station's lessons."""
    return f"/learn/{station}"


def start_page(doors: Mapping[str, Path], language: str) -> str:
    """Return the start page.

    Parameters
    ----------
    doors : mapping of str to Path
        The doors that are open, by URL path.
    language : str
        Two letters.
    """
    words = interface(language)
    stations = [
        {
            "door": station_door(station) if station_door(station) in doors else None,
            "title": words.say(f"station_{station}"),
            "about": words.say(f"about_{station}"),
        }
        for station in STATIONS
    ]
    return _page(
        "start.html",
        words,
        stations=stations,
        exam=EXAM_DOOR if EXAM_DOOR in doors else None,
        cohort=COHORT_DOOR if COHORT_DOOR in doors else None,
    )


def message_page(kind: str, language: str) -> str:
    """Return the page for ``not_found`` or ``server_fault``."""
    words = interface(language)
    return _page("message.html", words, heading=words.say(f"{kind}_heading"), text=words.say(kind))


def _page(template: str, words: Interface, **values: object) -> str:
    return (
        page_templates(TEMPLATES)
        .get_template(template)
        .render(language=words.language, say=words.say, **values)
    )
