"""The exam in a real browser: from the trainer's slips to the gradebook."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from nbgrader.api import Gradebook
from playwright.sync_api import Browser, Page

from assessments import HERE, exam_library
from assessments.exam_form import find_form
from assessments.gradebook.plan import NOTEBOOK
from assessments.marking import mark_form
from assessments.seating import Slip, seat
from assessments.seats import Seats
from lessons import DEFAULT_SITE
from scoring.records.log import read_log
from scoring.records.places import exam_log
from scoring.settings import Settings
from tests.browser import hands
from tests.browser.conftest import (
    NARROW,
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
    watched_page,
)
from tests.browser.running import Running, running_server

FORM = find_form("hand-cleaning-a")
DECISIONS = sum(len(exam_library().scenario(part.id).decisions) for part in FORM.scenarios)


@pytest.fixture
def exam_server(tmp_path: Path) -> Iterator[Running]:
    """The exam room, with records of its own."""
    with running_server(tmp_path / "records", {"/exam": HERE / "exam.ipynb"}) as running:
        yield running


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Page]:
    """A second machine, 768 px wide."""
    yield from watched_page(browser, NARROW)


def settings_of(server: Running) -> Settings:
    return Settings(server.records, DEFAULT_SITE)


def seated(server: Running, *codes: str) -> tuple[Slip, ...]:
    return seat(settings_of(server), FORM, exam_library().form_digest(FORM), codes)


def sign_in(page: Page, code: str, pin: str) -> None:
    page.fill("input[name=code]", code)
    page.fill("input[name=pin]", pin)
    hands.press_main(page)


def step(page: Page, amount: str = "3", *, chosen: bool = False) -> None:
    """Do what the screen asks and wait for the next one."""
    before = page.inner_text("h1")
    if hands.kind(page) == "decision" and not chosen:
        hands.choose_by_mouse(page, amount)
    hands.press_main(page)
    page.wait_for_function(
        "before => document.querySelector('h1').innerText !== before", arg=before
    )


def control_of(page: Page) -> str:
    for selector, name in (
        (".amount", "quantity"), (".order", "order"), (".hotspot", "mark_places"),
        ("input[type=radio]", "choose_one"),
    ):  # fmt: skip
        if page.query_selector(selector):
            return name
    return "choose_several"


class Eyes:
    """Looks once at every kind of screen: axe, width, a picture."""

    def __init__(self, page: Page, name: str) -> None:
        self._page, self._name, self._seen = page, name, set[str]()

    def look(self) -> None:
        kind = hands.kind(self._page)
        if kind == "decision":
            kind += f"-{control_of(self._page)}"
        if kind == "intro":
            kind += "-part" if self._page.query_selector(".caution") else "-plain"
            kind += "-end" if self._page.query_selector("text=Hand in") else ""
        if kind not in self._seen:
            self._seen.add(kind)
            assert_no_serious_axe_faults(self._page)
            assert_fits_width(self._page)
            take_picture(self._page, f"{self._name}-{kind}")

    @property
    def seen(self) -> set[str]:
        return self._seen


def test_from_slip_to_gradebook(exam_server: Running, page: Page, tablet: Page) -> None:
    first, second = seated(exam_server, "OP-101", "OP-102")
    settings = settings_of(exam_server)

    page.goto(f"{exam_server.url}exam")
    hands.wait_for(page, "sign_in")
    eyes = Eyes(page, "exam")
    eyes.look()
    sign_in(page, "OP-101", f"{(int(first.pin) + 1) % 10**6:06d}")
    page.wait_for_selector(".error:has-text('slip')")
    take_picture(page, "exam-sign_in-wrong")
    assert_no_serious_axe_faults(page)
    sign_in(page, "op-101", first.pin)
    hands.wait_for(page, "intro")
    text = page.inner_text("main")
    for part in (f"{DECISIONS} decisions", f"{FORM.minutes} minutes", "final", "assessor"):
        assert part in text

    confirmed = 0
    killed = False
    while hands.kind(page) != "receipt":
        eyes.look()
        assert not page.query_selector("[data-verdict]:not([data-verdict=''])")
        if confirmed == 3 and not killed and hands.kind(page) == "decision":
            killed = True
            confirmed_before = read_log(exam_log(settings, first.sitting)).answers
            kill_and_reload(exam_server, page)
            assert read_log(exam_log(settings, first.sitting)).answers == confirmed_before
            step(page, chosen=True)  # what was chosen and not yet confirmed is chosen again
            confirmed += 1
            continue
        was_decision = hands.kind(page) == "decision"
        step(page)
        confirmed += was_decision
    eyes.look()
    assert killed
    assert confirmed == DECISIONS
    receipts = {"OP-101": page.inner_text(".code")}
    assert "OP-101" in page.inner_text("main")
    page.reload()
    hands.wait_for(page, "receipt")
    assert page.inner_text(".code") == receipts["OP-101"]
    hands.press_main(page)
    hands.wait_for(page, "sign_in")
    page.reload()
    hands.wait_for(page, "sign_in")

    tablet.goto(f"{exam_server.url}exam")
    hands.wait_for(tablet, "sign_in")
    small = Eyes(tablet, "exam-768")
    small.look()
    sign_in(tablet, "OP-102", second.pin)
    hands.wait_for(tablet, "intro")
    while hands.kind(tablet) != "receipt":
        small.look()
        step(tablet, amount="5")
    small.look()
    receipts["OP-102"] = tablet.inner_text(".code")
    assert {"decision-order", "decision-quantity", "decision-mark_places"} <= eyes.seen & small.seen

    report = mark_form(settings, FORM)
    assert report.counted == ("OP-101", "OP-102")
    by_sitting = {seat.sitting: seat for seat in Seats(settings).all()}
    with Gradebook(report.gradebook) as gradebook:
        for marks in report.marked:
            log = read_log(exam_log(settings, marks.sitting))
            assert receipts[marks.operator] == log.receipt == by_sitting[marks.sitting].receipt
            assert len(log.answers) == DECISIONS
            kept = gradebook.find_submission_notebook(NOTEBOOK, FORM.name, marks.operator)
            assert [
                grade.score for grade in sorted(kept.grades, key=lambda grade: str(grade.name))
            ] == [mark.points for mark in marks.decisions]
    events = read_log(exam_log(settings, first.sitting)).events
    assert [event.what for event in events] == ["resumed"]
    for operator in report.counted:
        show_sheet(page, report.feedback / f"{operator}.html", operator)


def kill_and_reload(server: Running, page: Page) -> None:
    """Kill the kernel in mid-exam, meet the message, open the page again."""
    heading = page.inner_text("h1")
    hands.kill_kernel(server, page)
    page.expected_complaints.append(".*")  # type: ignore[attr-defined]
    hands.choose_by_mouse(page)
    hands.press_main(page)
    page.wait_for_selector(".lost")
    take_picture(page, "exam-lost")
    page.click(".lost button")
    hands.wait_for(page, "decision")
    page.wait_for_selector("h1")
    assert page.inner_text("h1") == heading


def show_sheet(page: Page, sheet: Path, operator: str) -> None:
    """Look at the feedback as a browser shows it; no request goes anywhere."""
    page.set_content(sheet.read_text(encoding="utf-8"))
    assert operator in page.inner_text("main")
    assert_no_serious_axe_faults(page)
    for width in (1280, 768):
        page.set_viewport_size({"width": width, "height": 900})
        assert_fits_width(page)
        take_picture(page, f"feedback-{operator}-{width}")
    page.emulate_media(media="print")
    printed = page.pdf(format="A4", prefer_css_page_size=True)
    page.emulate_media(media="screen")
    sides = len(re.findall(rb"/Type\s*/Page\b(?!s)", printed))
    assert sides <= 2, f"the sheet needs {sides} sides, one sheet of paper has two"
