"""What kind of file this is, told by the items it holds and not by where it lies."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from scoring.check.desk import CheckedFile, Desk
from scoring.check.forms import form_faults, site_faults
from scoring.check.scenarios import scenario_faults
from scoring.check.wording import words_faults
from scoring.faults import Fault, FaultError
from scoring.form import Form
from scoring.instrument import Instrument
from scoring.scenario import Scenario
from scoring.site import SiteValues
from scoring.words import Words

COMMON = frozenset({"schema_version", "id", "language", "title", "minutes"})
"""Items that several kinds have, so they tell nothing."""

Together = Callable[[CheckedFile, Desk], Iterable[Fault]]
"""Checks a file that is sound in itself against the others."""


@dataclass(frozen=True)
class ExtraKind:
    """A kind of file that this package does not know, handed in by whoever owns it.

    Parameters
    ----------
    name : str
        What a trainer calls it: ``words of an instrument``.
    model : type
        The pydantic model of the whole file.
    together : callable or None
        Checks a sound file against the others, such as
        :func:`scoring.check.labels.label_faults`.
    """

    name: str
    model: type[BaseModel]
    together: Together | None = None

    @property
    def telling(self) -> frozenset[str]:
        """The items that tell this kind from others."""
        return frozenset(self.model.model_fields) - COMMON


def _instrument_faults(file: CheckedFile, desk: Desk) -> Iterable[Fault]:
    yield from file.name_faults(file.value.id)
    yield from desk.doubled(file, file.value.id)


KINDS: tuple[ExtraKind, ...] = (
    ExtraKind("scenario", Scenario, scenario_faults),
    ExtraKind("words of a scenario", Words, words_faults),
    ExtraKind("instrument", Instrument, _instrument_faults),
    ExtraKind("site values", SiteValues, site_faults),
    ExtraKind("form", Form, form_faults),
)


def kind_of(path: Path, content: dict[Any, Any], extra: Sequence[ExtraKind]) -> ExtraKind:
    """Return the kind whose telling items the file holds most of.

    Raises
    ------
    FaultError
        It holds none of any kind.
    """
    kinds = (*KINDS, *extra)

    def share(kind: ExtraKind) -> float:
        return len(kind.telling & content.keys()) / len(kind.telling)

    best = max(kinds, key=share)
    if share(best) == 0:
        raise FaultError.one(
            path,
            "the whole file",
            found="the items " + ", ".join(str(name) for name in content),
            wanted="one of: " + ", ".join(kind.name for kind in kinds),
            remedy="Check that this is the file you meant. The kit's own files show the items.",
        )
    return best
