"""The schemas an editor uses accept what the kit accepts, as far as a schema can tell."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from scoring.faults import FaultError
from scoring.instrument import Instrument
from scoring.schemas import schemas, write_schemas
from tests.scoring.small import DATA, SMALL


def load(name: str) -> object:
    return YAML(typ="safe").load((SMALL / name).read_text(encoding="utf-8"))


FILES = {
    "scenario": "scenarios/small-soak.yaml",
    "words": "scenarios/small-soak.en.yaml",
    "instrument": "instruments/probe.yaml",
    "site": "sites/small-site.yaml",
    "form": "forms/small-exam.yaml",
}


@pytest.mark.parametrize("kind", FILES)
def test_a_sound_file_fits_its_schema_and_a_misspelt_one_does_not(kind: str) -> None:
    schema = schemas()[kind]
    Draft202012Validator.check_schema(schema)
    content = load(FILES[kind])
    assert list(Draft202012Validator(schema).iter_errors(content)) == []
    assert isinstance(content, dict)
    assert list(Draft202012Validator(schema).iter_errors(content | {"sceanrio": 1}))


def test_the_lines_of_a_log_fit_their_schema() -> None:
    validator = Draft202012Validator(schemas()["answer-log-line"])
    lines = (DATA / "answer_log_schema_1.jsonl").read_text().splitlines()
    for line in lines:
        assert list(validator.iter_errors(json.loads(line))) == []


def test_schemas_are_written_for_every_kind(tmp_path: Path) -> None:
    written = write_schemas(tmp_path / "new" / "folder", {"another": Instrument})
    names = {path.name.removesuffix(".schema.json") for path in written}
    assert names == {*FILES, "answer-log-line", "another"}
    for path in written:
        assert json.loads(path.read_text(encoding="utf-8"))["$schema"].startswith("https://json-")


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(FaultError, match="can be written"):
        write_schemas(tmp_path / "file")
