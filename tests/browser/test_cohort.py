"""The pages of manager, trainer and one person, and the written report, in a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from scoring.cohort.asked import Asked
from scoring.cohort.doors import cohort_pages
from scoring.cohort.pages import load, manager_page
from scoring.cohort.written import write_page
from scoring.settings import Settings
from tests.browser.conftest import (
    NARROW,
    PATIENCE_MS,
    WIDE,
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
    watched_page,
)
from tests.browser.hands import tab_to
from tests.browser.running import Running, running_server
from tests.scoring.cohort.indexed import put
from tests.scoring.cohort.made import department

pytestmark = pytest.mark.browser

SITE = Path(__file__).parents[2] / "lessons" / "sites" / "invented-three-bays.yaml"
MOST_SHEETS = 14
"""What a manager files: the whole report of a department of twelve."""

TARGET_PX = 44
"""Least height of what a finger must hit (WCAG 2.5.5)."""

OPENING_MS = 4 * PATIENCE_MS
"""The figures of a page are computed before it is shown."""


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    """A department of twelve, in an index with its logs."""
    settings = Settings(tmp_path_factory.mktemp("records"), SITE)
    put(settings, department({"soak": 0.5, "brush": 1.8}, operators=12))
    return settings


@pytest.fixture(scope="module")
def served(sample: Settings) -> Iterator[Running]:
    with running_server(sample.records, cohort_pages(), site=SITE) as running:
        yield running


@pytest.fixture(scope="module")
def report(sample: Settings, tmp_path_factory: pytest.TempPathFactory) -> Path:
    page = manager_page(load(sample), Asked(), "Invented department")
    return write_page(page, tmp_path_factory.mktemp("report"), "cohort-report", "tables").html


def opened(page: Page, served: Running, address: str) -> None:
    page.goto(f"{served.url.rstrip('/')}{address}")
    expect(page.get_by_role("heading", level=1)).to_be_visible(timeout=OPENING_MS)


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["1280", "768"])
def test_the_report_opens_fits_and_can_be_read_by_everybody(
    browser: Browser, report: Path, size: dict[str, int]
) -> None:
    for page in watched_page(browser, size):
        page.goto(report.as_uri())
        expect(page.get_by_role("heading", level=1)).to_have_text("Invented department")
        assert page.get_by_role("img").count() >= 3
        assert page.get_by_role("table").count() >= 4
        assert_fits_width(page)
        assert_no_serious_axe_faults(page)
        take_picture(page, f"cohort-report-{size['width']}")


def test_the_answer_is_on_the_first_screen(page: Page, report: Path) -> None:
    page.goto(report.as_uri())
    headline = page.locator(".headline")
    expect(headline).to_contain_text("brushing")
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
@pytest.mark.parametrize("address", ["/cohort", "/cohort/trainer", "/cohort/person"])
def test_each_served_page_can_be_read_by_everybody(
    browser: Browser, served: Running, address: str, size: dict[str, int]
) -> None:
    for page in watched_page(browser, size):
        opened(page, served, address)
        assert page.locator("main").count() == 1
        assert page.locator("h1").count() == 1
        assert page.get_by_text("from scoring").count() == 0
        assert page.locator("nav a[aria-current=page]").count() == 1
        if address.endswith("person"):
            page.get_by_label("Code").select_option("OP-103")
            expect(page.locator("h1")).to_have_text("Sheet of OP-103", timeout=OPENING_MS)
        for part in page.locator("main select, main nav a").all():
            box = part.bounding_box()
            assert box is not None
            assert box["height"] >= TARGET_PX
        assert_fits_width(page)
        assert_no_serious_axe_faults(page)
        take_picture(page, f"{address.strip('/').replace('/', '-')}-{size['width']}")


def test_a_filter_by_keyboard_says_that_it_works_and_keeps_the_focus(
    page: Page, served: Running
) -> None:
    opened(page, served, "/cohort")
    expect(page.locator("article")).to_contain_text("brushing")
    tab_to(page, "#choose-station")
    page.keyboard.press("ArrowDown")
    status = page.get_by_role("status")
    expect(status).to_have_text("Working…")
    assert page.get_attribute("main", "aria-busy") == "true"
    expect(status).to_have_text("The page is up to date: 48 sittings.", timeout=OPENING_MS)
    expect(page.locator("article")).to_contain_text("Only a part is shown: step Soak.")
    assert page.get_attribute("main", "aria-busy") is None
    assert page.evaluate("document.activeElement.id") == "choose-station"
    assert page.locator("#choose-station").input_value() == "soak"
    page.keyboard.press("ArrowUp")
    expect(page.locator("article")).not_to_contain_text("Only a part is shown", timeout=OPENING_MS)


def test_tables_can_be_saved_from_the_served_page(page: Page, served: Running) -> None:
    opened(page, served, "/cohort")
    with page.expect_download() as saved:
        page.get_by_role("link", name="operators.csv").click()
    text = saved.value.path().read_text(encoding="utf-8-sig")
    assert "OP-103" in text
    with page.expect_download() as saved:
        page.get_by_role("link", name="tables.xlsx").click()
    assert saved.value.path().read_bytes().startswith(b"PK")


def test_the_pages_lead_to_each_other(page: Page, served: Running) -> None:
    opened(page, served, "/cohort/person")
    page.get_by_role("link", name="Exams and assessors").click()
    expect(page.locator("h1")).to_contain_text("questions", timeout=OPENING_MS)


def test_an_empty_records_folder_says_what_to_do_first(browser: Browser, tmp_path: Path) -> None:
    with running_server(tmp_path / "records", cohort_pages(), site=SITE) as running:
        # The page is closed before its server, whose going it would complain of.
        for page in watched_page(browser, WIDE):
            opened(page, running, "/cohort")
            expect(page.locator(".headline")).to_have_text("There is nothing to show yet.")
            expect(page.get_by_text("let operators sit an exam")).to_be_visible()
            assert_no_serious_axe_faults(page)
            take_picture(page, "cohort-empty")
