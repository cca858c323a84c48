"""The trainer's page of curves in a real browser: a choice redraws the curve."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from assessments.command.doors import CURVES_DOOR, curves_doors
from lessons import DEFAULT_SITE
from scoring.settings import Settings
from tests.browser.conftest import (
    NARROW,
    WIDE,
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
    watched_page,
)
from tests.browser.running import running_server

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["1280", "768"])
def test_a_choice_redraws_the_curve(browser: Browser, tmp_path: Path, size: dict[str, int]) -> None:
    settings = Settings(tmp_path, DEFAULT_SITE)
    with running_server(settings.records, curves_doors()) as running:
        for page in watched_page(browser, size):
            page.goto(running.url + CURVES_DOOR.lstrip("/"))
            caption = page.locator("figcaption").first
            expect(caption).to_contain_text("minutes in the bath", timeout=30_000)
            page.get_by_label("What runs").select_option(label="temperature of the bath")
            expect(caption).to_contain_text("at 65 °C")
            expect(page.get_by_role("img")).to_have_count(2)
            assert_fits_width(page)
            assert_no_serious_axe_faults(page)
            take_picture(page, f"curves-{size['width']}")
