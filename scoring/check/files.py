"""Checking files and folders of files; every fault is returned, none is raised."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

from scoring.check.desk import CheckedFile, Desk
from scoring.check.kinds import ExtraKind, kind_of
from scoring.faults import Fault, FaultError
from scoring.library import Library
from scoring.records.reading import read_log
from scoring.site import SiteValues
from scoring.yaml_file import fit, load_yaml

YAML_ENDINGS = (".yaml", ".yml")
LOG_ENDING = ".jsonl"


def _silent(done: int, total: int) -> None:
    """Tell nobody."""


def check_files(
    paths: Iterable[Path],
    library: Library,
    sites: Sequence[SiteValues] = (),
    extra: Sequence[ExtraKind] = (),
    tell: Callable[[int, int], None] = _silent,
) -> list[Fault]:
    """Check files, each alone and then all together.

    Parameters
    ----------
    paths : iterable of Path
        Files, or folders with all that is in them.
    library : Library
        Where scenarios and instruments are looked for that are not among `paths`.
    sites : sequence of SiteValues
        Scenarios are tried under each of these, and under those among `paths`.
    extra : sequence of ExtraKind
        Kinds of file owned by other packages.
    tell : callable
        Told how many of how many files are done.

    Returns
    -------
    list of Fault
        In the order of the files; empty when nothing is wrong.
    """
    found: dict[Path, list[Fault]] = {}
    desk = Desk(library, tuple(sites))
    kinds: dict[Path, ExtraKind] = {}
    files = []
    for path in paths:
        inside, faults = _files_in(path)
        files += [file for file in inside if file not in found]
        found |= {file: [] for file in inside if file not in found}
        if faults:
            found.setdefault(path, []).extend(faults)
    total = 2 * len(files)
    for done, path in enumerate(files, start=1):
        try:
            kind = _read(path, desk, extra)
        except FaultError as error:
            found[path] += error.faults
            desk.broken.add(path.stem)
        else:
            if kind is not None:
                kinds[path] = kind
        tell(done, total)
    sound = {file.path: file for file in desk.files}
    for done, path in enumerate(files, start=1 + len(files)):
        together = kinds[path].together if path in kinds else None
        if together is not None:
            found[path] += together(sound[path], desk)
        tell(done, total)
    return [fault for faults in found.values() for fault in faults]


def _files_in(path: Path) -> tuple[list[Path], list[Fault]]:
    """Return the files a path stands for, or why there are none."""
    if not path.is_dir():
        return [path], []
    inside = sorted(_readable(path))
    if inside:
        return inside, []
    empty = FaultError.one(
        path,
        "the folder",
        found="no file that the kit reads",
        wanted="files that end in " + ", ".join((*YAML_ENDINGS, LOG_ENDING)),
        remedy="Check that this is the folder you meant.",
    )
    return [], list(empty.faults)


def _readable(folder: Path) -> Iterator[Path]:
    for path in folder.rglob("*"):
        hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
        if path.suffix in (*YAML_ENDINGS, LOG_ENDING) and not hidden and path.is_file():
            yield path


def _read(path: Path, desk: Desk, extra: Sequence[ExtraKind]) -> ExtraKind | None:
    """Read one file onto the desk; an answer log is whole in itself and stays off it.

    Raises
    ------
    FaultError
        The file is not sound.
    """
    if path.suffix == LOG_ENDING:
        damage = read_log(path).damage
        if damage is not None:
            raise FaultError([damage])
        return None
    text, content = load_yaml(path)
    kind = kind_of(path, content, extra)
    desk.files.append(CheckedFile(path, kind.name, fit(path, text, content, kind.model), text))
    return kind
