"""The manager's page: the printed report's parts, shown in a notebook or by the server."""

from __future__ import annotations

import base64
from datetime import date
from html import escape
from pathlib import Path

from IPython.display import HTML, display

from scoring.cohort.brief import Brief, make_brief
from scoring.cohort.gather import Gathered, gather
from scoring.cohort.render import Heading, body, css
from scoring.faults import FaultError
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

TITLE = "How the department does"


def show(settings: Settings | None = None) -> None:
    """Show the cohort of the records folder; a notebook's one call.

    Parameters
    ----------
    settings : Settings, optional
        Where the records are; taken from the environment when left out.
    """
    html = page_html(settings or Settings.from_environment(Path()))
    display(HTML(html))  # type: ignore[no-untyped-call]


def page_html(settings: Settings) -> str:
    """Return the page's HTML; what goes wrong becomes a sentence with the remedy, never a trace."""
    try:
        gathered = gather(settings)
        brief = make_brief(gathered.table, _severity(settings))
    except FaultError as error:
        content = "".join(
            f"<p><strong>{escape(fault.item)}: {escape(fault.found)}</strong></p>"
            f"<p>Wanted: {escape(fault.wanted)}. {escape(fault.remedy)}</p>"
            for fault in error.faults
        )
        article = (
            '<article class="cohort"><h1>The cohort cannot be shown</h1>'
            f'<div role="alert">{content}</div></article>'
        )
    else:
        heading = Heading(TITLE, gathered.invented, date.today(), gathered.origin, notes(gathered))
        article = body(brief, heading, offered(brief))
    return f"<style>{css()}</style>\n<main>{article}</main>"


def _severity(settings: Settings) -> dict[str, int]:
    """Return the site's own severities; none where no site file is named, as in a bare notebook."""
    return dict(read_yaml(settings.site, SiteValues).severity) if settings.site.is_file() else {}


def notes(gathered: Gathered) -> tuple[str, ...]:
    """Say what of the records is not in the figures, a sentence for each kind."""
    said = []
    if gathered.waiting:
        said.append(
            f"Answer logs that are not marked yet: {gathered.waiting}. They are in no figure. "
            "Mark them with: sinkside exam mark FORM."
        )
    if gathered.repeated:
        said.append(
            "Sittings left out because another one of the same operator and form counts: "
            f"{gathered.repeated}."
        )
    if gathered.left_out:
        said.append(f"Invented sittings left out because there are real ones: {gathered.left_out}.")
    return tuple(said)


def offered(brief: Brief) -> list[tuple[str, str]]:
    """Return the tables as files inside the page, since the server gives out no file."""
    return [
        (name, f"data:text/csv;charset=utf-8;base64,{base64.b64encode(content).decode('ascii')}")
        for name, content in brief.files.items()
    ]
