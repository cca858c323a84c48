"""Observations on disk: one file each, written once, read with every damaged one named."""

from __future__ import annotations

import json
from pathlib import Path

from pydantic import ValidationError

from scoring.faults import Fault, FaultError
from scoring.observation import Observation
from scoring.records import disk
from scoring.settings import Settings

LARGEST_BYTES = 100_000
"""Forty items take less than 5 kB; what is larger than this is no observation."""

WHOLE = "the whole file"
REMEDY = "It is in no figure. Put the file back from a copy, or take it out."


def observations_folder(settings: Settings) -> Path:
    """Return the folder that holds all observations."""
    return settings.records / "observations"


def write_observation(settings: Settings, observation: Observation) -> Path:
    """Write an observation as a new file and return its path.

    Writing the same observation again changes nothing.

    Raises
    ------
    FaultError
        Another observation of this id is there, or the file cannot be written.
    """
    path = observations_folder(settings) / f"{observation.id}.json"
    text = json.dumps(observation.model_dump(mode="json"), indent=1, ensure_ascii=False)
    content = f"{text}\n".encode()
    if path.is_file() and _bytes(path) == content:
        return path
    disk.create(path, content)
    return path


def read_observations(settings: Settings) -> tuple[tuple[Observation, ...], tuple[Fault, ...]]:
    """Read every observation, by time and id; a file that cannot be read is a fault, no more.

    Where one rater stands twice on an occasion, or an occasion is of two people or
    stations, the files after the first by name are faults: they would count twice.

    Returns
    -------
    tuple of (tuple of Observation, tuple of Fault)
    """
    folder = observations_folder(settings)
    found: list[Observation] = []
    faults: list[Fault] = []
    occasions: dict[str, Observation] = {}
    raters: set[tuple[str, str]] = set()
    for path in sorted(folder.glob("*.json")) if folder.is_dir() else ():
        try:
            one = _read(path)
            _fits(path, one, occasions.setdefault(one.occasion, one), raters)
        except FaultError as error:
            faults.extend(error.faults)
        else:
            found.append(one)
    return tuple(sorted(found, key=lambda one: (one.at, one.id))), tuple(faults)


def _fits(path: Path, one: Observation, first: Observation, raters: set[tuple[str, str]]) -> None:
    same = [
        (name, getattr(one, name), getattr(first, name))
        for name in ("operator", "station", "checklist_digest", "site")
        if getattr(one, name) != getattr(first, name)
    ]
    if same:
        name, found, wanted = same[0]
        raise FaultError.one(
            path,
            name,
            found=f"{found}, and {wanted} in {first.id}.json of the same occasion",
            wanted="one person at one station, watched with one checklist",
            remedy="It is in no figure. Look which of the two files is wrong, and take it out.",
        )
    if (one.occasion, one.rater) in raters:
        raise FaultError.one(
            path,
            "rater",
            found=f"{one.rater} a second time on occasion {one.occasion}",
            wanted="each rater once an occasion",
            remedy="It is in no figure: it would count twice. Take one of the two out.",
        )
    raters.add((one.occasion, one.rater))


def _read(path: Path) -> Observation:
    try:
        content = _bytes(path)
        observation = Observation.model_validate_json(content)
        _each_once(content)
    except (ValidationError, ValueError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else None
        raise FaultError.one(
            path,
            ".".join(str(part) for part in first["loc"]) or WHOLE if first else WHOLE,
            found=first["msg"] if first else str(error),
            wanted="an observation as the kit wrote it",
            remedy=REMEDY,
        ) from error
    if observation.id != path.stem:
        raise FaultError.one(
            path,
            "id",
            found=observation.id,
            wanted=path.stem,
            remedy="A copied or renamed file would count twice. Take it out.",
        )
    return observation


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise FaultError.one(
                path,
                WHOLE,
                found=f"{path.stat().st_size} bytes",
                wanted=f"at most {LARGEST_BYTES} bytes",
                remedy=REMEDY,
            )
        return path.read_bytes()
    except OSError as error:
        raise FaultError.one(
            path,
            WHOLE,
            found=error.strerror or type(error).__name__,
            wanted="a file that can be read",
            remedy=REMEDY,
        ) from error


def _each_once(content: bytes) -> None:
    """Refuse an item that stands twice: JSON readers keep the last one without a word."""

    def once(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found = dict(pairs)
        if len(found) < len(pairs):
            names = [name for name, _ in pairs]
            twice = next(name for name in names if names.count(name) > 1)
            raise ValueError(f"{twice!r} stands twice")
        return found

    json.loads(content, object_pairs_hook=once)
