"""Options that several verbs share, and the settings they make."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lessons import DEFAULT_SITE
from scoring.settings import Settings

Records = Annotated[
    Path | None,
    typer.Option(
        help="Folder of the records (answer logs, marks). Default: sinkside-records in your home.",
        envvar="SINKSIDE_RECORDS",
        show_default=False,
    ),
]
Site = Annotated[
    Path | None,
    typer.Option(
        help="Your department's site values. Default: an invented department.",
        envvar="SINKSIDE_SITE",
        show_default=False,
    ),
]
Port = Annotated[
    int, typer.Option(help="Port to serve on; 0 takes any free one.", min=0, max=65535)
]
Ip = Annotated[
    str,
    typer.Option(
        help="Address to serve on. Leave it alone unless tablets in your network join in."
    ),
]
Browser = Annotated[bool, typer.Option(help="Open the page in the browser of this machine.")]

DEFAULT_PORT = 8466
"""A port no registered service uses (from memory, IANA list); any free one will do."""


def make_settings(records: Path | None, site: Path | None) -> Settings:
    """Build the settings of one run from options and environment."""
    settings = Settings.from_environment(DEFAULT_SITE)
    return Settings(
        records=(records or settings.records).absolute(),
        site=(site or settings.site).absolute(),
        database_url=settings.database_url,
        language=settings.language,
    )
