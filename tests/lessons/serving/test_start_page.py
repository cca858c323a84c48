"""The start page for any set of open doors."""

from __future__ import annotations

from pathlib import Path

import pytest

from lessons.serving.start_page import message_page, start_page


def test_a_closed_door_says_who_opens_it_and_how() -> None:
    page = start_page({}, "en")
    assert "<code>sinkside exam</code>" in page
    assert "<code>sinkside cohort</code>" in page
    assert 'href="/learn' not in page


def test_an_open_door_is_a_link() -> None:
    page = start_page({"/learn/rinse": Path("x"), "/exam": Path("x"), "/cohort": Path("x")}, "en")
    for door in ("/learn/rinse", "/exam", "/cohort"):
        assert f'href="{door}"' in page
    assert "sinkside cohort" not in page


@pytest.mark.parametrize("page", [start_page({}, "en"), message_page("not_found", "en")])
def test_pages_ask_nobody_else(page: str) -> None:
    assert "http://" not in page
    assert "https://" not in page
    assert page.count("<h1>") == 1
    assert '<html lang="en">' in page
