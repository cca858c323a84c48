"""What every number of the bench must say about itself.

A constant is read when it is used, so that `varied` can ask what would be if it
were set elsewhere in its range: within that block, in that thread or task, the
other number is read, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Literal

Status = Literal["read", "restated", "calculated", "common practice", "memory", "assumption"]
"""How far a constant is known; `assumption` means that no source gives it."""

_VARIED: ContextVar[Mapping[str, float] | None] = ContextVar("varied", default=None)


@dataclass(frozen=True, slots=True)
class Constant:
    """One number of the bench.

    Attributes
    ----------
    name : str
        What it is, in words; no two constants of the bench share it.
    standard : float
        The number used, unless `varied` says otherwise.
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
    standard: float
    unit: str
    low: float
    high: float
    source: str
    status: Status

    def __post_init__(self) -> None:
        if not self.low <= self.standard <= self.high:
            raise ValueError(f"{self.name}: {self.standard} is outside {self.low} to {self.high}")

    @property
    def value(self) -> float:
        """The number to compute with, read at the time of use."""
        changed = _VARIED.get()
        return self.standard if changed is None else changed.get(self.name, self.standard)


@contextmanager
def varied(changes: Mapping[str, float]) -> Iterator[None]:
    """Within this block the constants of these names have these values.

    Parameters
    ----------
    changes : mapping of str to float
        By the constant's name. A block inside another adds to it.
    """
    before = _VARIED.set({**(_VARIED.get() or {}), **changes})
    try:
        yield
    finally:
        _VARIED.reset(before)


class _Reading(dict[str, float]):
    """What `varied` says, with a note of every name that is asked for."""

    def __init__(self, changes: Mapping[str, float]) -> None:
        super().__init__(changes)
        self.names: set[str] = set()

    def get(self, name: str, standard: float) -> float:  # type: ignore[override]
        self.names.add(name)
        return super().get(name, standard)


@contextmanager
def names_read() -> Iterator[set[str]]:
    """Within this block note the names of the constants that are read, in the set yielded."""
    reading = _Reading(_VARIED.get() or {})
    before = _VARIED.set(reading)
    try:
        yield reading.names
    finally:
        _VARIED.reset(before)


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


class Values(Mapping[str, float]):
    """The numbers of a table of constants, each read when it is asked for."""

    def __init__(self, table: Mapping[str, Constant], zero_for: Iterable[str] = ()) -> None:
        self._table: dict[str, Constant | None] = {**dict.fromkeys(zero_for), **table}

    def __getitem__(self, key: str) -> float:
        constant = self._table[key]
        return 0.0 if constant is None else constant.value

    def __iter__(self) -> Iterator[str]:
        return iter(self._table)

    def __len__(self) -> int:
        return len(self._table)


def values(table: Mapping[str, Constant], zero_for: Iterable[str] = ()) -> Values:
    """Return the numbers of a table of constants, for the path that computes.

    Parameters
    ----------
    table : mapping of str to Constant
    zero_for : iterable of str
        Keys that are 0 unless the table has them.
    """
    return Values(table, zero_for)
