"""What can go wrong with a record, each with its own remedy."""

from __future__ import annotations

from scoring.faults import FaultError


class RecordsError(FaultError):
    """A record could not be read or written; the file on disk is as it was before."""


class StaleLog(RecordsError):  # noqa: N818 - the page says "stale", so the name does too
    """The sitting was opened elsewhere since; this copy must not write any more."""


class LogRefused(FaultError):  # noqa: N818 - named after what happens to the log
    """A log whose content cannot be trusted: a line was changed, moved, lost or is unknown."""
