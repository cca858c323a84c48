"""JSON Schemas of every file a trainer writes, for an editor that completes and underlines."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel, TypeAdapter

from scoring.attempt import LogLine
from scoring.form import Form
from scoring.instrument import Instrument
from scoring.scenario import Scenario
from scoring.site import SiteValues
from scoring.whole_file import write_whole
from scoring.words import Words

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""The dialect that pydantic writes; an identifier, which nothing fetches."""

MODELS: dict[str, type[BaseModel]] = {
    "scenario": Scenario,
    "words": Words,
    "instrument": Instrument,
    "site": SiteValues,
    "form": Form,
}


def schemas(extra: Mapping[str, type[BaseModel]] | None = None) -> dict[str, dict[str, object]]:
    """Return the JSON Schema of each kind of file, by name.

    Parameters
    ----------
    extra : mapping of str to type
        Models owned by other packages, by the name their schema gets.
    """
    models: dict[str, TypeAdapter[object]] = {
        name: TypeAdapter(model) for name, model in {**MODELS, **(extra or {})}.items()
    }
    models["answer-log-line"] = TypeAdapter(LogLine)
    return {name: {"$schema": DIALECT, **model.json_schema()} for name, model in models.items()}


def write_schemas(
    folder: Path, extra: Mapping[str, type[BaseModel]] | None = None
) -> tuple[Path, ...]:
    """Write ``<name>.schema.json`` for each kind of file into `folder`.

    Returns
    -------
    tuple of Path
        The files written; files of the same name are replaced.

    Raises
    ------
    FaultError
        The folder cannot be made or written.
    """
    return tuple(
        write_whole(
            folder / f"{name}.schema.json",
            json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n",
        )
        for name, schema in schemas(extra).items()
    )
