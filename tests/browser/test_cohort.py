"""The manager's page and the printed report in a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

import scoring.cohort
from sample_cohort.generate import write_cohort
from sample_cohort.plan import forms_sat
from scoring.cohort.brief import make_brief
from scoring.cohort.gather import gather
from scoring.cohort.render import Heading
from scoring.cohort.report import write_report
from scoring.form import Form
from scoring.library import Library
from scoring.marking.sitting import Marker
from scoring.records.index import Index, Marked
from scoring.records.log import read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.browser.conftest import (
    NARROW,
    WIDE,
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
    watched_page,
)
from tests.browser.running import Running, running_server

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
SITE = ROOT / "lessons" / "sites" / "invented-three-bays.yaml"
NOTEBOOK = Path(scoring.cohort.__file__).with_name("cohort.ipynb")
MOST_SHEETS = 6
"""What a manager prints: four sheets of findings, one of people, one of method."""


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    """The invented department: logs written, marked, stored in the index."""
    settings = Settings(tmp_path_factory.mktemp("records"), SITE)
    site = read_yaml(SITE, SiteValues)
    library = Library([ROOT / "assessments" / "bank"], ROOT / "lessons" / "instruments")
    folder = ROOT / "assessments" / "forms"
    forms = forms_sat(read_yaml(path, Form) for path in sorted(folder.glob("*.yaml")))
    markers = {
        form.id: Marker(form, lambda scenario, seed: library.instance(scenario, site, seed))
        for form in forms
    }
    logs = [read_log(path) for path in write_cohort(settings, forms, library, site).logs]
    index = Index(settings.index_url())
    index.store(Marked(log, markers[log.header.form].mark(log)) for log in logs)
    index.close()
    return settings


@pytest.fixture(scope="module")
def served(sample: Settings) -> Iterator[Running]:
    with running_server(sample.records, {"/cohort": NOTEBOOK}) as running:
        yield running


@pytest.fixture(scope="module")
def report(sample: Settings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    gathered = gather(sample)
    made = date(2026, 1, 15)
    return write_report(
        make_brief(gathered.table),
        tmp_path_factory.mktemp("report"),
        Heading("Invented department", gathered.invented, made, gathered.origin),
    )


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["1280", "768"])
def test_the_report_opens_fits_and_can_be_read_by_everybody(
    browser: Browser, report: Path, size: dict[str, int]
) -> None:
    for page in watched_page(browser, size):
        page.goto(report.as_uri())
        expect(page.get_by_role("heading", level=1)).to_have_text("Invented department")
        expect(page.get_by_text("Invented data.")).to_be_visible()
        assert page.get_by_role("img").count() == 3
        assert page.get_by_role("table").count() == 4
        assert_fits_width(page)
        assert_no_serious_axe_faults(page)
        take_picture(page, f"cohort-report-{size['width']}")


def test_the_answer_is_on_the_first_screen(page: Page, report: Path) -> None:
    page.goto(report.as_uri())
    headline = page.locator(".headline")
    expect(headline).to_contain_text("In brushing the result depends most on who does the work")
    box = headline.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < WIDE["height"]


def test_no_figure_is_drawn_past_its_frame(page: Page, report: Path) -> None:
    """Every drawn part lies inside its picture, so no label is cut off."""
    page.goto(report.as_uri())
    outside = page.evaluate(
        """() => [...document.querySelectorAll('.drawing svg')].flatMap(svg => {
            const frame = svg.getBoundingClientRect();
            return [...svg.querySelectorAll('[id*="text_"]')].filter(part => {
                const box = part.getBoundingClientRect();
                return box.width && (box.left < frame.left - 1 || box.right > frame.right + 1
                    || box.top < frame.top - 1 || box.bottom > frame.bottom + 1);
            }).map(part => part.id);
        })"""
    )
    assert outside == []


def test_a_table_can_be_saved_from_the_report(page: Page, report: Path) -> None:
    page.goto(report.as_uri())
    with page.expect_download() as saved:
        page.get_by_role("link", name="steps.csv").click()
    assert saved.value.path().read_bytes() == (report.parent / "tables" / "steps.csv").read_bytes()


def test_it_prints_on_few_sheets_of_a4(page: Page, report: Path, tmp_path: Path) -> None:
    page.goto(report.as_uri())
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    sheets = re.findall(rb"/Type\s*/Page\b(?!s)", printed)
    assert 3 <= len(sheets) <= MOST_SHEETS
    boxes = set(re.findall(rb"/MediaBox\s*\[([^\]]+)\]", printed))
    for box in boxes:
        width, height = (float(number) for number in box.split()[2:])
        assert width == pytest.approx(595.3, abs=2)
        assert height == pytest.approx(841.9, abs=2)


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["1280", "768"])
def test_the_served_page_shows_the_same_and_gives_its_tables(
    browser: Browser, served: Running, size: dict[str, int]
) -> None:
    for page in watched_page(browser, size):
        page.goto(f"{served.url.rstrip('/')}/cohort")
        expect(page.get_by_role("heading", level=1)).to_have_text("How the department does")
        expect(page.locator(".headline")).to_contain_text("In brushing")
        expect(page.get_by_text("Invented data.")).to_be_visible()
        assert page.get_by_role("img").count() == 3
        assert page.locator("main").count() == 1
        assert page.get_by_text("from scoring").count() == 0
        assert_fits_width(page)
        assert_no_serious_axe_faults(page)
        take_picture(page, f"cohort-page-{size['width']}")
        with page.expect_download() as saved:
            page.get_by_role("link", name="operators.csv").click()
        text = saved.value.path().read_text(encoding="utf-8-sig")
        assert text.startswith("operator,step,")
        assert "OP-124" in text


def test_an_empty_records_folder_says_what_to_do_first(browser: Browser, tmp_path: Path) -> None:
    with running_server(tmp_path / "records", {"/cohort": NOTEBOOK}) as running:
        # The page is closed before its server, whose going it would complain of.
        for page in watched_page(browser, WIDE):
            page.goto(f"{running.url.rstrip('/')}/cohort")
            expect(page.locator(".headline")).to_have_text("There is nothing to show yet.")
            expect(page.get_by_text("let operators sit an exam")).to_be_visible()
            assert_no_serious_axe_faults(page)
            take_picture(page, "cohort-empty")
