from __future__ import annotations

import base64
import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import scoring.cohort
from scoring.catalogue import mistakes as catalogue
from scoring.cohort.page import page_html
from scoring.settings import Settings
from tests.scoring.cohort.indexed import put
from tests.scoring.cohort.made import department, sitting
from tests.scoring.cohort.test_report import Reader

SITES = Path(__file__).parents[3] / "lessons" / "sites"
NOTEBOOK = Path(scoring.cohort.__file__).with_name("cohort.ipynb")


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path / "records", tmp_path)


def test_the_notebook_shows_the_records_that_the_environment_names(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(settings, department({"soak": 0.5, "brush": 1.8}))
    for name, value in settings.as_environment().items():
        monkeypatch.setenv(name, value)
    notebook = nbformat.read(NOTEBOOK, as_version=4)
    NotebookClient(
        notebook, timeout=60, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}
    ).execute()
    (output,) = notebook.cells[-1].outputs
    assert "In brushing the result depends most on who" in output.data["text/html"]


def test_an_empty_folder_says_what_to_do_first(settings: Settings) -> None:
    text = page_html(settings)
    Reader(text)
    assert "There is nothing to show yet." in text
    for verb in ("exam seat", "learn", "exam mark", "demo"):
        assert f"sinkside {verb}" in text
    assert "<figure" not in text


def test_what_is_left_out_is_said(settings: Settings) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [1.0]}, name="first-try-1")])
    put(settings, [sitting("OP-1", "form_v1", {"soak": [0.5]}, name="second-try-1")], day=1)
    put(settings, [sitting("OP-2", "form_v1", {"soak": [1.0]})], stored=False)
    text = page_html(settings)
    assert "not marked yet: 1." in text
    assert "sinkside exam mark" in text
    assert "another one of the same operator and form counts: 1." in text


def test_tables_can_be_saved_though_the_server_gives_out_no_file(settings: Settings) -> None:
    put(settings, department({"soak": 0.5}, operators=6))
    links = Reader(page_html(settings)).named("a")
    assert len(links) == 4
    for link in links:
        coded = str(link["href"]).removeprefix("data:text/csv;charset=utf-8;base64,")
        assert "," in base64.b64decode(coded).decode("utf-8-sig").splitlines()[0]


def test_the_site_says_how_severe_a_mistake_is(settings: Settings, tmp_path: Path) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [0.5]})])
    default = catalogue()["M20"].severity
    own = 1 if default != 1 else 4
    example = (SITES / "invented-three-bays.yaml").read_text(encoding="utf-8")
    site = tmp_path / "invented-three-bays.yaml"
    site.write_text(f"{example}\nseverity: {{M20: {own}}}\n", encoding="utf-8")
    for place, wanted in [(tmp_path, default), (site, own)]:
        text = page_html(Settings(settings.records, place))
        assert f'{catalogue()["M20"].mistake}</td><td class="number">{wanted}</td>' in text


def test_a_spoiled_site_file_becomes_a_sentence(settings: Settings, tmp_path: Path) -> None:
    site = tmp_path / "site.yaml"
    site.write_text("cleaner: [", encoding="utf-8")
    text = page_html(Settings(settings.records, site))
    assert 'role="alert"' in text


def test_a_spoiled_index_becomes_a_sentence_with_the_remedy(settings: Settings) -> None:
    settings.records.mkdir()
    (settings.records / "index.sqlite").write_text("not a database " * 100)
    text = page_html(settings)
    Reader(text)
    assert 'role="alert"' in text
    assert "mark each exam again" in text
    assert "Traceback" not in text


def test_it_asks_nothing_of_any_other_host(settings: Settings) -> None:
    put(settings, department({"soak": 0.5}, operators=6))
    text = page_html(settings)
    assert "<script" not in text
    assert not re.search(r"""(src|href)\s*=\s*["'](https?:)?//""", text)
