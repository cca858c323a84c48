"""Where the kit reads and writes: one settings object, passed in and never global."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Settings:
    """All configuration of one run.

    Attributes
    ----------
    records : Path
        Folder of answer logs, register and index; made when first written.
    site : Path
        The site values file.
    database_url : str
        SQLAlchemy URL of the index; empty means SQLite inside `records`.
    language : str
        Two-letter code of the words shown.
    """

    records: Path
    site: Path
    database_url: str = ""
    language: str = "en"

    @classmethod
    def from_environment(
        cls, default_site: Path, environment: Mapping[str, str] = os.environ
    ) -> Settings:
        """Build from ``SINKSIDE_RECORDS``, ``_SITE``, ``_DATABASE`` and ``_LANGUAGE``."""
        return cls(
            records=Path(environment.get("SINKSIDE_RECORDS") or Path.home() / "sinkside-records"),
            site=Path(environment.get("SINKSIDE_SITE") or default_site),
            database_url=environment.get("SINKSIDE_DATABASE", ""),
            language=environment.get("SINKSIDE_LANGUAGE") or "en",
        )

    def as_environment(self) -> dict[str, str]:
        """Return the variables that hand these settings to a kernel."""
        return {
            "SINKSIDE_RECORDS": str(self.records.absolute()),
            "SINKSIDE_SITE": str(self.site.absolute()),
            "SINKSIDE_DATABASE": self.database_url,
            "SINKSIDE_LANGUAGE": self.language,
        }

    def index_url(self) -> str:
        """Return the SQLAlchemy URL of the index."""
        return self.database_url or f"sqlite:///{(self.records / 'index.sqlite').absolute()}"
