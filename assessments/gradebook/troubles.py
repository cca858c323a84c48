"""What is said when the gradebook's database cannot be used: damaged, held, or no room left."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.engine import make_url
from sqlalchemy.exc import SQLAlchemyError

from scoring.records.troubles import RecordsError

DAMAGED = (
    "Rename this file, then mark each form again (sinkside exam mark FORM): the gradebook is made "
    "anew from the answer logs. Only what was typed into it by hand is not."
)
HELD = "Another program is writing. Wait until it has ended, then mark again."
NO_ROOM = "Free some space or ask for access, then mark again. No answer log was touched."
OTHER = "Check that the database runs and may be written, then mark again."


@contextmanager
def gradebook_troubles(url: str) -> Iterator[None]:
    """Turn an error of the gradebook's database into a fault with its remedy.

    Parameters
    ----------
    url : str
        SQLAlchemy URL of the gradebook; a password in it is not shown.

    Raises
    ------
    RecordsError
        The database cannot be read or written.
    """
    try:
        yield
    except SQLAlchemyError as error:
        said = str(getattr(error, "orig", None) or error)
        raise RecordsError.one(
            make_url(url).render_as_string(hide_password=True),
            "the gradebook",
            found=said,
            wanted="a gradebook that can be used",
            remedy=_remedy(said.lower()),
        ) from error


def _remedy(said: str) -> str:
    if "locked" in said:
        return HELD
    if any(word in said for word in ("malformed", "not a database", "no such table")):
        return DAMAGED
    if any(word in said for word in ("full", "readonly", "unable to open", "disk i/o")):
        return NO_ROOM
    return OTHER
