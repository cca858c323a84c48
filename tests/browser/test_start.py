"""The start page and the pages for what is not there."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from lessons import HERE as LESSONS
from tests.browser.conftest import (
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
)
from tests.browser.running import Running, running_server


def test_three_doors_in_plain_words(shared_server: Running, page: Page) -> None:
    page.goto(shared_server.url)
    assert page.locator("h2").all_inner_texts() == ["Learn", "Take an exam", "See the department"]
    assert_no_serious_axe_faults(page)
    assert_fits_width(page)
    assert "sinkside cohort" in page.inner_text("main")
    for link in page.locator("a").all():
        target = link.get_attribute("href")
        assert target is not None
        assert page.request.head(shared_server.url.rstrip("/") + target).status in (200, 405)


def test_a_door_that_is_open_is_a_link(tmp_path: Path, page: Page) -> None:
    notebook = LESSONS / "soak.ipynb"
    doors = {"/exam": notebook, "/cohort": notebook, "/learn/soak": notebook}
    with running_server(tmp_path, doors) as server:
        page.goto(server.url)
        links = {link.get_attribute("href") for link in page.locator("main a").all()}
        assert links == {"/exam", "/cohort", "/learn/soak"}
        assert_no_serious_axe_faults(page)
        take_picture(page, "start-all-open")


@pytest.mark.parametrize(
    "path", ["nothing", "learn", "learn/", "learn/none", "look", "voila/static/"]
)
def test_any_other_path_is_our_own_page(shared_server: Running, page: Page, path: str) -> None:
    page.expected_complaints.append("404")  # type: ignore[attr-defined]
    answer = page.goto(shared_server.url + path)
    assert answer is not None
    assert answer.status == 404
    if "static" not in path:
        assert page.inner_text("h1") == "There is no such page"
        assert_no_serious_axe_faults(page)
