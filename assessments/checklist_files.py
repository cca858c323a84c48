"""Finding the checklists for the real sink, and their words."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from assessments import HERE
from scoring.checklist import Checklist, ChecklistWords
from scoring.faults import FaultError
from scoring.model import STATIONS, Station
from scoring.yaml_file import read_yaml

CHECKLISTS = HERE / "checklists"
"""The checklists that come with the kit."""


def checklists(folder: Path = CHECKLISTS) -> Mapping[Station, Checklist]:
    """Return the newest checklist of each station that has one, in the order of the work.

    Raises
    ------
    FaultError
        A checklist is malformed, or a station has two of the newest version.
    """
    found: dict[Station, tuple[Checklist, Path]] = {}
    for path in sorted(folder.glob("*.yaml")):
        # The words lie beside it: <id>.<language>.yaml.
        if "." in path.stem:
            continue
        one = read_yaml(path, Checklist)
        known, beside = found.get(one.station, (None, path))
        if known is not None and known.version == one.version:
            raise FaultError.one(
                path,
                "version",
                found=f"version {one.version} for {one.station}, as in {beside.name}",
                wanted="one newest checklist a station",
                remedy="Give the changed checklist the next version.",
            )
        if known is None or known.version < one.version:
            found[one.station] = (one, path)
    return {station: found[station][0] for station in STATIONS if station in found}


def checklist_words(
    checklist: Checklist, language: str, folder: Path = CHECKLISTS
) -> ChecklistWords:
    """Return the words of a checklist in a language; in English where there are none in it.

    Raises
    ------
    FaultError
        There are no words at all, they are malformed, or they name other items.
    """
    path = folder / f"{checklist.id}.{language}.yaml"
    if not path.exists():
        path = folder / f"{checklist.id}.en.yaml"
    words = read_yaml(path, ChecklistWords)
    wanted = {item.id for item in checklist.items}
    if words.checklist != checklist.id or words.items.keys() != wanted:
        odd = sorted(words.items.keys() ^ wanted) or [words.checklist]
        raise FaultError.one(
            path,
            "items",
            found=f"other items than the checklist: {', '.join(odd)}",
            wanted=f"words for each item of {checklist.name}, and no others",
            remedy="Run `sinkside check` on the folder; it names each item.",
        )
    return words
