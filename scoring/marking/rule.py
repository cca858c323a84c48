"""What every rule of marking gives back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from scoring.marking.refusal import Refusal


class Looked(NamedTuple):
    """How places were marked, as counts: a signal-detection measurement."""

    hits: int
    misses: int
    false_alarms: int
    correct_rejections: int


@dataclass(frozen=True, slots=True)
class Credit:
    """What one answer is worth.

    Attributes
    ----------
    credit : float
        0 to 1.
    reason : str
        A key of the decision's `reasons` in the words file.

        ========== ===============================================================
        choose one the id of the option
        several    ``right``, or the id of the first box that is wrong: unsafe ones
                   before others, then in the order of the file
        order      ``right``; the `first` of the broken precedence (unsafe ones
                   before others, then in the order of the file); else ``wrong``
        quantity   ``right``, ``too_low``, ``too_high``
        places     ``missed`` when any soiled place is missed, else ``false_alarm``
                   when any clean place is marked, else ``all_found``
        ========== ===============================================================
    mistakes : tuple of str
        Catalogue ids, each once.
    unsafe : bool
        The answer could hurt somebody.
    looked : Looked or None
        Of marked places: what was found and missed.
    off : float or None
        Of a quantity: natural logarithm of the amount over the middle of the right
        window (0.69 is twice as much); None where either is not above 0.
    """

    credit: float
    reason: str
    mistakes: tuple[str, ...] = ()
    unsafe: bool = False
    looked: Looked | None = None
    off: float | None = None


Rule = Callable[[Any], Credit]
"""From an answer's value to its credit; raises `UnreadableAnswer`."""


class UnreadableAnswer(ValueError):  # noqa: N818 - named after what it is about
    """An answer that its rule cannot read; the message is a plain sentence.

    Parameters
    ----------
    refusal : Refusal
        Why.
    """

    def __init__(self, refusal: Refusal) -> None:
        self.refusal = refusal
        super().__init__(refusal.said())


def once(names: list[str]) -> tuple[str, ...]:
    """Return the names in order, each once."""
    return tuple(dict.fromkeys(names))


def check_ids(value: Any, known: frozenset[str] | None) -> Refusal | None:
    """Say why `value` is no list of known, different ids; None when it is one."""
    if not isinstance(value, list | tuple):
        return Refusal("no_list")
    if not all(isinstance(name, str) for name in value):
        return Refusal("no_name")
    if len(set(value)) != len(value):
        return Refusal("twice")
    if known is not None and not known.issuperset(value):
        return Refusal("unknown_name")
    return None
