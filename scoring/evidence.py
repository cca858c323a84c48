"""What a statistic may answer: a figure with its interval, that there is too little, or a fault.

Nothing here computes anything. Measurement and variation give these three kinds
of answer and no other, so that a page can say each of them in the same way.
"""

from __future__ import annotations

from dataclasses import dataclass
from numbers import Real

CONFIDENCE = 0.95
"""Confidence of every interval of the kit, unless a caller asks otherwise. The usual
convention; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its interval and what it rests on.

    Attributes
    ----------
    value : float
        The estimate.
    low, high : float or None
        Ends of the interval, ``low <= value <= high``; None where the data allow
        an estimate but no interval (the function says when).
    n : int
        Number of independent units behind it: operators, units rated, answers. The
        function says which.
    confidence : float
        Confidence of the interval.
    """

    value: float
    low: float | None
    high: float | None
    n: int
    confidence: float = CONFIDENCE


@dataclass(frozen=True, slots=True)
class TooLittleEvidence:
    """Why there is no figure: a result, not a failure.

    Attributes
    ----------
    missing : str
        What is missing, as a code of the function's own (``operators``, ``repeats``, …).
    said : str
        The same as a sentence for the reader, with what there was and what is needed.
    n : int
        Number of independent units there were.
    """

    missing: str
    said: str
    n: int = 0


class DataError(ValueError):
    """Data that no figure may be computed from: outside the scale, doubled, out of order.

    Parameters
    ----------
    item : str
        Where: the row or column, by the name or number that the caller gave.
    found : object
        What stands there.
    wanted : str
        What should stand there.
    """

    def __init__(self, item: str, found: object, wanted: str) -> None:
        self.item = item
        self.found = found
        self.wanted = wanted
        super().__init__(f"{item}: found {found!r}, wanted {wanted}")


def counted(n: int, one: str, many: str = "") -> str:
    """Return how many there are, in words: ``1 person``, ``2 people``.

    Parameters
    ----------
    n : int
        How many.
    one, many : str
        The word for one and for another number of them; `many` is `one` with an s unless given.
    """
    return f"{n} {one if n == 1 else many or one + 's'}"


def check_confidence(confidence: float) -> None:
    """Raise `ValueError` unless ``0 < confidence < 1``."""
    if not isinstance(confidence, Real) or not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence!r}: wanted a number between 0 and 1")
