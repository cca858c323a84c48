"""A page as files: what is offered is there, nothing has a name, the same again is the same."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest
from pypdf import PdfReader

from scoring.cohort.asked import Asked
from scoring.cohort.made_page import MadePage, page_of_sections
from scoring.cohort.page_tree import page_tree, text_of
from scoring.cohort.pages import Cohort, load, manager_page, person_page, trainer_page
from scoring.cohort.section import Section, Sheet
from scoring.cohort.written import write_page
from scoring.settings import Settings
from tests.scoring.cohort.indexed import put
from tests.scoring.cohort.made import department
from tests.scoring.cohort.test_page import SITE
from tests.scoring.cohort.test_pdf import blocks, squeezed
from tests.scoring.cohort.test_report import Reader

NAME = "Oxenford"


@pytest.fixture(scope="module")
def cohort(tmp_path_factory: pytest.TempPathFactory) -> Cohort:
    settings = Settings(tmp_path_factory.mktemp("cohort") / "records", SITE)
    put(settings, department({"soak": 0.5, "brush": 1.8}, operators=12))
    (settings.records / "seats").mkdir()
    (settings.records / "seats" / "roster.csv").write_text(f"code,name\nOP-101,W. {NAME}\n")
    return load(settings)


@pytest.fixture(scope="module", params=["cohort", "trainer", "person"])
def page(request: pytest.FixtureRequest, cohort: Cohort) -> MadePage:
    if request.param == "cohort":
        return manager_page(cohort, Asked())
    if request.param == "trainer":
        return trainer_page(cohort, Asked())
    return person_page(cohort, "OP-101", Asked())


def test_what_is_offered_is_there_and_nothing_else(page: MadePage, tmp_path: Path) -> None:
    written = write_page(page, tmp_path, "report", "tables")
    offered = [str(one["href"]) for one in Reader(written.html.read_text("utf-8")).named("a")]
    assert all((tmp_path / address).stat().st_size > 50 for address in offered)
    there = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*.*")}
    assert there == {"report.html", "report.pdf", *offered}
    assert len(offered) == (len(page.sheets) + 1 if page.sheets else 0)


def test_every_sentence_of_the_page_is_in_print(page: MadePage, tmp_path: Path) -> None:
    written = write_page(page, tmp_path, "report")
    printed = squeezed("".join(one.extract_text() for one in PdfReader(written.pdf).pages))
    said = blocks(page.article(()))
    assert len(said) > 15
    # A block that runs on to the next sheet has the foot and head of the sheets in between.
    assert [one for one in said if not all(squeezed(word) in printed for word in one.split())] == []
    assert sum(squeezed(one) in printed for one in said) >= 0.97 * len(said)


def test_no_name_is_in_any_file(page: MadePage, tmp_path: Path) -> None:
    write_page(page, tmp_path, "report", "tables")
    for path in tmp_path.rglob("*.*"):
        content = path.read_bytes()
        if path.suffix == ".xlsx":
            with zipfile.ZipFile(io.BytesIO(content)) as book:
                content = b"".join(book.read(name) for name in book.namelist())
        if path.suffix == ".pdf":
            content = "".join(one.extract_text() for one in PdfReader(path).pages).encode()
        assert NAME.encode() not in content


def test_the_same_page_gives_the_same_bytes(page: MadePage, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        write_page(page, tmp_path / folder, "report", "tables")
    for one in (tmp_path / "a").rglob("*.*"):
        again = tmp_path / "b" / one.relative_to(tmp_path / "a")
        assert one.read_bytes() == again.read_bytes()


def test_a_persons_sheet_is_one_sheet_of_one_code(cohort: Cohort, tmp_path: Path) -> None:
    for code in ("OP-101", "OP-107"):
        written = write_page(person_page(cohort, code, Asked()), tmp_path, f"person-{code}")
        assert len(PdfReader(written.pdf).pages) == 1
        assert set(re.findall(r"OP-\d+", written.html.read_text("utf-8"))) == {code}
        assert written.tables == ()


def test_ids_are_unique_on_each_page(page: MadePage) -> None:
    ids = [str(given["id"]) for _, given in Reader(page.whole(())).tags if "id" in given]
    assert len(ids) == len(set(ids))
    assert text_of(page_tree(page.article(())))


@pytest.mark.parametrize("doubled", ["sections", "tables"])
def test_two_parts_of_one_name_are_an_error(doubled: str, page: MadePage) -> None:
    sheet = Sheet("a", ("x",), ())
    ids = ("one", "one") if doubled == "sections" else ("one", "two")
    sheets = () if doubled == "sections" else (sheet,)
    parts = [Section(name, "t", "<p>x</p>", (), sheets) for name in ids]
    with pytest.raises(ValueError, match=f"two {doubled}"):
        page_of_sections("trainer", page.heading, (), parts, "")
