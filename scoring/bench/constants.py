"""What every number of the bench must say about itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal["read", "restated", "calculated", "common practice", "memory", "assumption"]
"""How far a constant is known; `assumption` means that no source gives it."""


@dataclass(frozen=True, slots=True)
class Constant:
    """One number of the bench.

    Attributes
    ----------
    name : str
        What it is, in words.
    value : float
        The number used.
    unit : str
        Its unit; ``1`` for a share or ratio.
    low, high : float
        The range within which it could as well have been chosen.
    source : str
        Ids of the table of facts (``scoring/catalogue/facts.csv``), or why it
        was chosen.
    status : Status
        How far the source goes.
    """

    name: str
    value: float
    unit: str
    low: float
    high: float
    source: str
    status: Status

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"{self.name}: {self.value} is outside {self.low} to {self.high}")


def assumed(name: str, value: float, unit: str, low: float, high: float, why: str) -> Constant:
    """Return a constant that no source gives, with the reason for its value.

    Parameters
    ----------
    name : str
        What it is, in words for the table of constants.
    value, low, high : float
        The value, and the range in which it may well lie, in `unit`.
    unit : str
    why : str
        Why this value; ids of facts where they give a direction or a bound.
    """
    return Constant(name, value, unit, low, high, why, "assumption")


def values(table: dict[str, Constant]) -> dict[str, float]:
    """Return the numbers of a table of constants, for the path that computes."""
    return {key: constant.value for key, constant in table.items()}
