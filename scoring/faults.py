"""How a fault in somebody's file is said: where, what was found, what was wanted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Self


@dataclass(frozen=True)
class Fault:
    """One thing wrong with one file.

    Attributes
    ----------
    file : str
        The file, as the person named it.
    item : str
        Where in the file: a dotted path, with the line when it is known.
    found : str
        What stands there.
    wanted : str
        What should stand there.
    remedy : str
        What to do about it, as one sentence.
    """

    file: str
    item: str
    found: str
    wanted: str
    remedy: str

    def __str__(self) -> str:
        return (
            f"{self.file}: {self.item}\n"
            f"    found:  {self.found}\n"
            f"    wanted: {self.wanted}\n"
            f"    remedy: {self.remedy}"
        )


class FaultError(ValueError):
    """Raised when a file cannot be used; carries every fault that was found.

    Parameters
    ----------
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def one(cls, file: str | Path, item: str, *, found: object, wanted: str, remedy: str) -> Self:
        """Build the error for a single fault.

        Parameters
        ----------
        file : str or Path
            Where it is; not a file for a fault of something else.
        item : str
            Which item of it, with its line where one is known.
        found : object
            What stands there; a long or unprintable value is shortened and escaped.
        wanted : str
            What should stand there.
        remedy : str
            What the reader can do, as a sentence.
        """
        return cls([Fault(str(file), item, _said(found), wanted, remedy)])


def _said(value: object, limit: int = 120) -> str:
    """Quote a found value, shortened so that a hostile file cannot flood the screen."""
    text = value if isinstance(value, str) else repr(value)
    text = text.encode("unicode_escape").decode("ascii") if not text.isprintable() else text
    return text if len(text) <= limit else text[: limit - 1] + "…"
