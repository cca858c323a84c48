"""Observations on disk: one file each, written once, read with every damaged one named."""

from __future__ import annotations

import json
from pathlib import Path

from pydantic import ValidationError

from scoring.faults import Fault, FaultError
from scoring.observation import Observation
from scoring.records import disk
from scoring.settings import Settings


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
    if path.exists() and path.read_bytes() == content:
        return path
    disk.create(path, content)
    return path


def read_observations(settings: Settings) -> tuple[tuple[Observation, ...], tuple[Fault, ...]]:
    """Read every observation, by time and id; a file that cannot be read is a fault, no more.

    Returns
    -------
    tuple of (tuple of Observation, tuple of Fault)
    """
    folder = observations_folder(settings)
    found: list[Observation] = []
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.json")) if folder.is_dir() else ():
        try:
            found.append(_read(path))
        except FaultError as error:
            faults.extend(error.faults)
    return tuple(sorted(found, key=lambda one: (one.at, one.id))), tuple(faults)


def _read(path: Path) -> Observation:
    try:
        observation = Observation.model_validate_json(path.read_bytes())
    except (OSError, ValidationError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else None
        raise FaultError.one(
            path,
            ".".join(str(part) for part in first["loc"]) if first else "the whole file",
            found=first["msg"] if first else str(error),
            wanted="an observation as the kit wrote it",
            remedy="It is in no figure. Put the file back from a copy, or take it out.",
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
