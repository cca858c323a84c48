"""All files of one check laid side by side, with the kit's library behind them."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from scoring.faults import Fault, FaultError
from scoring.instrument import Instrument
from scoring.library import Library
from scoring.scenario import Scenario
from scoring.site import SiteValues
from scoring.words import Words
from scoring.yaml_file import Lines, read_yaml

Where = tuple[str | int, ...]
"""Path to an item: names, and places of list entries counted from 0."""


@dataclass(eq=False)
class CheckedFile:
    """One file that is sound in itself.

    Attributes
    ----------
    path : Path
    kind : str
        What it is, as a trainer says it.
    value : object
        The checked content.
    text : str
        The text it was read from.
    """

    path: Path
    kind: str
    value: Any
    text: str = field(repr=False)

    @cached_property
    def lines(self) -> Lines:
        """Where each item stands."""
        return Lines(self.text)

    def fault(self, where: Where, found: object, wanted: str, remedy: str) -> Fault:
        """Return a fault at one item of this file."""
        return FaultError.one(
            self.path, self.lines.item(where), found=found, wanted=wanted, remedy=remedy
        ).faults[0]

    def name_faults(self, *names: str) -> Iterator[Fault]:
        """Find a file that is not named after what is in it."""
        if self.path.stem not in names:
            yield self.fault(
                ("id",),
                self.path.name,
                " or ".join(f"{name}.yaml" for name in names),
                "Give the file and the id in it the same name.",
            )


@dataclass
class Desk:
    """What one check has to look at.

    Attributes
    ----------
    files : list of CheckedFile
        The sound files among those to be checked; they go before the library's.
    broken : set of str
        Names (without ending) of files that are not sound: what refers to one
        of them is not blamed as well.
    library : Library
    sites : tuple of SiteValues
        The site values to try scenarios under.
    """

    library: Library
    sites: tuple[SiteValues, ...] = ()
    files: list[CheckedFile] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)

    def of_kind(self, kind: str) -> list[CheckedFile]:
        """Return the checked files of one kind."""
        return [file for file in self.files if file.kind == kind]

    def scenario(self, name: str, near: Path | None = None) -> Scenario | None:
        """Return a scenario by id, None when there is no sound one.

        Looked for among the checked files, then beside the file `near`, then in
        the library.
        """
        for file in self.of_kind("scenario"):
            if file.value.id == name:
                found: Scenario = file.value
                return found
        if near is not None and (beside := near.with_name(f"{name}.yaml")).exists():
            with contextlib.suppress(FaultError):
                return read_yaml(beside, Scenario)
        try:
            return self.library.scenario(name)
        except FaultError:
            return None

    def instrument(self, name: str) -> Instrument | None:
        """Return an instrument by id, None when there is no sound one."""
        for file in self.of_kind("instrument"):
            if file.value.id == name:
                found: Instrument = file.value
                return found
        try:
            return self.library.instrument(name)
        except FaultError:
            return None

    def words_of(self, file: CheckedFile) -> list[Words]:
        """Return the sound words files beside a scenario's file, checked now or not."""
        found = []
        for path in sorted(file.path.parent.glob(f"{file.value.id}.*.yaml")):
            with contextlib.suppress(FaultError):
                found.append(read_yaml(path, Words))
        return found

    def every_site(self) -> list[SiteValues]:
        """Return the given site values and those being checked."""
        return [*self.sites, *(file.value for file in self.of_kind("site values"))]

    def doubled(self, file: CheckedFile, name: str) -> Iterator[Fault]:
        """Find another file of the same kind with the same id, here or in the library."""
        others = [
            other.path
            for other in self.of_kind(file.kind)
            if other.value.id == name and other is not file
        ]
        if file.kind == "scenario":
            # Not in the library means nothing to clash with.
            with contextlib.suppress(FaultError):
                others.append(self.library.scenario_path(name))
        elif file.kind == "instrument":
            others.append(self.library.instrument_folder / f"{name}.yaml")
        for path in others:
            if path.exists() and path.resolve() != file.path.resolve():
                yield file.fault(
                    ("id",), name, f"an id that {path} does not have too", "Rename one of the two."
                )
                return

    def missing(self, file: CheckedFile, where: Where, kind: str, name: str) -> Iterator[Fault]:
        """Blame a reference to something that is not there, unless its own file was blamed."""
        if name not in self.broken:
            yield file.fault(
                where,
                name,
                f"the id of {kind} that is there and without faults",
                "Check the spelling, add that file, or check it too.",
            )


def sorted_words(names: Sequence[str] | set[str] | frozenset[str]) -> str:
    """List names for a message; ``none`` when there are none."""
    return ", ".join(sorted(names)) or "none"
