"""The served pages as machines: choices in, an article out, sentences for whatever goes wrong."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

from scoring.cohort.doors import DOORS, Kind, cohort_pages
from scoring.cohort.page import SERVED, TITLES, WORKBOOK, CohortPage, view_of
from scoring.settings import Settings
from tests.scoring.cohort.indexed import put
from tests.scoring.cohort.made import department, sitting
from tests.scoring.cohort.test_report import Reader

SITE = Path(__file__).parents[3] / "lessons" / "sites" / "invented-three-bays.yaml"
KINDS: tuple[Kind, ...] = ("manager", "trainer", "person")


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path / "records", SITE)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    """A department of twelve, with a roster of names beside its records."""
    made = Settings(tmp_path_factory.mktemp("cohort") / "records", SITE)
    put(made, department({"soak": 0.5, "brush": 1.8}, operators=12))
    (made.records / "seats").mkdir()
    (made.records / "seats" / "roster.csv").write_text("code,name\nOP-101,Wilhelmina Oxenford\n")
    return made


@pytest.fixture(scope="module")
def manager(full: Settings) -> CohortPage:
    return CohortPage(full, "manager")


def test_the_notebook_shows_the_records_that_the_environment_names(
    full: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in full.as_environment().items():
        monkeypatch.setenv(name, value)
    notebook = nbformat.read(cohort_pages()["/cohort/person"], as_version=4)
    client = NotebookClient(
        notebook,
        timeout=120,
        kernel_name="python3",
        resources={"metadata": {"path": str(tmp_path)}},
    )
    client.execute()
    (output,) = notebook.cells[-1].outputs
    state = client.widget_state[output.data["application/vnd.jupyter.widget-view+json"]["model_id"]]
    assert "Choose a code" in state["shown"]["html"]
    assert ["OP-101", "OP-101"] in state["controls"][0]["options"]


def test_each_notebook_is_one_call_and_has_the_title_of_its_page() -> None:
    for kind, _, address, path in DOORS:
        assert cohort_pages()[address] == path
        notebook = nbformat.read(path, as_version=4)
        (cell,) = [cell for cell in notebook.cells if cell.cell_type == "code"]
        assert cell.source == f'from scoring.cohort.page import show\n\nshow("{kind}")'
        assert notebook.metadata.title == TITLES[kind]


def test_an_empty_folder_says_what_to_do_first(settings: Settings) -> None:
    page = CohortPage(settings, "manager")
    text = page.shown({}).html
    Reader(text)
    assert "There is nothing to show yet." in text
    for verb in ("exam seat", "learn", "exam mark", "demo"):
        assert f"sinkside {verb}" in text
    assert "<figure" not in text
    assert page.controls == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_bears_an_empty_folder(settings: Settings, kind: Kind) -> None:
    text = CohortPage(settings, kind).shown({}).html
    Reader(text)
    assert "<h1>" in text


def test_what_is_left_out_is_said(settings: Settings) -> None:
    put(settings, [sitting("OP-1", "form_v1", {"soak": [1.0]}, name="first-try-1")])
    put(settings, [sitting("OP-1", "form_v1", {"soak": [0.5]}, name="second-try-1")], day=1)
    put(settings, [sitting("OP-2", "form_v1", {"soak": [1.0]})], stored=False)
    (settings.records / "observations").mkdir()
    (settings.records / "observations" / "broken-file.json").write_text("{")
    text = CohortPage(settings, "manager").shown({}).html
    assert "not marked yet: 1." in text
    assert "sinkside exam mark" in text
    assert "another one of the same operator and form counts: 1." in text
    assert "in no figure: broken-file.json." in text


def test_the_lists_hold_what_the_records_hold(manager: CohortPage) -> None:
    lists = {one.name: [value for _, value in one.options] for one in manager.controls}
    assert lists["station"] == ["", "soak", "brush"]
    assert lists["site"] == ["", "invented-bays"]
    assert lists["since"] == lists["until"] == ["", "2025-03"]


def test_a_choice_shows_its_part_and_says_so(manager: CohortPage) -> None:
    everything, soak = manager.shown({}), manager.shown({"station": "soak"})
    assert "Only a part is shown" not in everything.html
    assert "Only a part is shown: step Soak." in soak.html
    assert "In brushing" not in soak.html
    assert soak.said == "The page is up to date: 48 sittings."
    assert manager.shown({"station": "", "site": ""}) == everything


@pytest.mark.parametrize(
    "chosen",
    [{"site": "<b>x</b>"}, {"station": "x"}, {"since": "x"}, {"until": "2025-99"}],
    ids=["site", "station", "since", "until"],
)
def test_whatever_a_page_sends_ends_in_a_sentence(
    manager: CohortPage, chosen: dict[str, str]
) -> None:
    shown = manager.shown(chosen)
    Reader(shown.html)
    assert 'role="alert"' in shown.html
    assert "<b>x</b>" not in shown.html
    assert shown.said == "This cannot be shown."


def test_a_person_is_found_by_code_and_sees_no_other(full: Settings) -> None:
    page = CohortPage(full, "person")
    text = page.shown({"code": "OP-103"}).html
    Reader(text)
    assert "<h1>Sheet of OP-103</h1>" in text
    assert set(re.findall(r"OP-\d+", text)) == {"OP-103"}
    assert 'role="alert"' in page.shown({"code": "OP-999"}).html


@pytest.mark.parametrize("kind", KINDS)
def test_no_name_of_a_person_is_anywhere(full: Settings, kind: Kind) -> None:
    page = CohortPage(full, kind)
    view = view_of(page)
    sent = f"{view.controls}{view.shown}{page.shown({'code': 'OP-101'}).html}"
    assert "<h1>" in sent
    assert "Oxenford" not in sent
    assert "Wilhelmina" not in sent


def test_tables_can_be_saved_though_the_server_gives_out_no_file(manager: CohortPage) -> None:
    links = {str(one["download"]): str(one["href"])
             for one in Reader(manager.shown({}).html).named("a")}  # fmt: skip
    assert WORKBOOK in links
    assert len(links) > 5
    for name, address in links.items():
        content = base64.b64decode(address.partition("base64,")[2])
        if name == WORKBOOK:
            assert content.startswith(b"PK")
        else:
            assert "," in content.decode("utf-8-sig").splitlines()[0]


def test_a_spoiled_site_file_becomes_a_sentence(full: Settings, tmp_path: Path) -> None:
    site = tmp_path / "site.yaml"
    site.write_text("cleaner: [", encoding="utf-8")
    shown = CohortPage(Settings(full.records, site), "manager").shown({})
    assert 'role="alert"' in shown.html
    assert shown.said == "The page cannot be shown."


@pytest.mark.parametrize("kind", KINDS)
def test_no_site_file_is_a_page_or_a_sentence(full: Settings, tmp_path: Path, kind: Kind) -> None:
    text = CohortPage(Settings(full.records, tmp_path), kind).shown({"code": "OP-101"}).html
    assert ('role="alert"' in text) == (kind != "manager")


def test_a_spoiled_index_becomes_a_sentence_with_the_remedy(settings: Settings) -> None:
    settings.records.mkdir()
    (settings.records / "index.sqlite").write_text("not a database " * 100)
    text = CohortPage(settings, "manager").shown({}).html
    Reader(text)
    assert 'role="alert"' in text
    assert "mark each exam again" in text
    assert "Traceback" not in text


def test_it_asks_nothing_of_any_other_host(manager: CohortPage) -> None:
    text = manager.shown({}).html
    assert "<script" not in text
    assert not re.search(r"""(src|href)\s*=\s*["'](https?:)?//""", text)


def test_links_to_other_pages_stand_only_where_they_are_served(
    manager: CohortPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(SERVED, raising=False)
    assert view_of(manager).doors == []
    monkeypatch.setenv(SERVED, "1")
    assert [door["here"] for door in view_of(manager).doors] == [True, False, False]


def test_a_choice_made_on_the_page_is_answered_once_with_its_number(manager: CohortPage) -> None:
    view = view_of(manager)
    view.chosen = {"station": "soak", "serial": 4, "unknown": "x"}
    assert view.shown["serial"] == 4
    assert "step Soak" in view.shown["html"]
