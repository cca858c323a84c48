"""Checklists for the real sink against the catalogue, and their words against them."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from scoring.catalogue import facts, mistakes
from scoring.check.desk import CheckedFile, Desk, sorted_words
from scoring.checklist import UNSOURCED, Checklist, ChecklistWords
from scoring.faults import Fault, FaultError
from scoring.yaml_file import read_yaml

EVERYWHERE = "ready"
"""Station whose mistakes fit at every other one: protective equipment, sharps and the right agent
matter until the work is done."""


def checklist_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find mistakes of other work, grounds that nobody gives, and items without words."""
    checklist: Checklist = file.value
    yield from file.name_faults(checklist.id, checklist.name)
    for other in desk.of_kind(file.kind):
        if other is not file and other.value.name == checklist.name:
            yield file.fault(
                ("version",),
                f"{checklist.id}, version {checklist.version}",
                f"a checklist that {other.path} is not too",
                "Give the newer of the two the next version number.",
            )
    for number, item in enumerate(checklist.items):
        for place, name in enumerate(item.mistakes):
            where = ("items", number, "mistakes", place)
            known = mistakes().get(name)
            if known is None:
                yield file.fault(
                    where,
                    name,
                    "the id of a mistake in the catalogue",
                    "Check the id in scoring/catalogue/mistakes.csv.",
                )
            elif known.station not in (checklist.station, EVERYWHERE):
                yield file.fault(
                    where,
                    f"{name}, a mistake of the station {known.station}",
                    f"a mistake of {checklist.station} or {EVERYWHERE}",
                    "Name the mistake that is made here when the item is not done.",
                )
        unknown = [] if item.basis == UNSOURCED else [
            name for name in item.basis.split("; ") if name not in facts()
        ]  # fmt: skip
        if unknown:
            yield file.fault(
                ("items", number, "basis"),
                unknown[0],
                f"ids of scoring/catalogue/facts.csv with '; ' between, or '{UNSOURCED}'",
                "Name the fact that the item rests on, or say that there is none.",
            )
    if not any(words.checklist == checklist.id for words in _words_beside(file, desk)):
        yield file.fault(
            ("id",),
            "no words",
            f"{checklist.id}.en.yaml beside it",
            "Write what the assessor reads, in a file of that name.",
        )


def checklist_words_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find items without words, words without an item, and empty words."""
    words: ChecklistWords = file.value
    wanted_name = f"{words.checklist}.{words.language}"
    if file.path.stem != wanted_name:
        yield file.fault(
            ("checklist",),
            file.path.name,
            f"{wanted_name}.yaml",
            "Name the file after its checklist and language.",
        )
    checklist = _checklist(file, desk)
    if checklist is None:
        yield from desk.missing(file, ("checklist",), "a checklist", words.checklist)
        return
    wanted = {item.id for item in checklist.items}
    for name in sorted(wanted - words.items.keys()):
        yield file.fault(
            ("items",), f"no words for {name}", "words for each item", "Add the words."
        )
    for name, said in words.items.items():
        if name not in wanted:
            yield file.fault(
                ("items", name),
                name,
                "one of: " + sorted_words(wanted),
                "Check the spelling, or take the words out.",
            )
        for part, text in said:
            if not text.strip():
                yield file.fault(
                    ("items", name, part), "nothing", "some text", "Write what is seen."
                )
    for grade, text in words.overall.items():
        if not text.strip():
            yield file.fault(
                ("overall", grade), "nothing", "some text", "Write what the grade means."
            )


def _checklist(file: CheckedFile, desk: Desk) -> Checklist | None:
    name = file.value.checklist
    known: list[Checklist] = [
        other.value for other in desk.of_kind("checklist") if other.value.id == name
    ]
    if known:
        # The words are those of the newest version, which is the one that is used.
        return max(known, key=lambda one: one.version)
    beside = file.path.with_name(f"{name}.yaml")
    if beside.exists():
        with contextlib.suppress(FaultError):
            return read_yaml(beside, Checklist)
    return None


def _words_beside(file: CheckedFile, desk: Desk) -> Iterator[ChecklistWords]:
    for other in desk.of_kind("words of a checklist"):
        yield other.value
    # What cannot be read is said where that file itself is checked.
    for path in sorted(file.path.parent.glob(f"{file.value.id}.*.yaml")):
        with contextlib.suppress(FaultError):
            yield read_yaml(path, ChecklistWords)
