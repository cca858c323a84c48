"""A lesson in a real browser, from sign-in to summary."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page

from lessons import DEFAULT_SITE, lesson_library
from scoring.records.log import read_log
from scoring.records.places import find_logs
from scoring.settings import Settings
from tests.browser import hands
from tests.browser.conftest import (
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
)
from tests.browser.running import Running


def logs_of(server: Running) -> list:
    return [read_log(path) for path in find_logs(Settings(server.records, DEFAULT_SITE), "lesson")]


def begin(page: Page, server: Running, station: str) -> None:
    page.goto(f"{server.url}learn/{station}")
    hands.sign_in(page)
    page.click(".door >> nth=0")
    hands.wait_for(page, "intro")


def test_a_lesson_with_the_mouse(server: Running, page: Page) -> None:
    page.goto(server.url)
    take_picture(page, "start")
    page.click("text=Inspecting")
    hands.wait_for(page, "sign_in")
    seen = set()

    def look(name: str) -> None:
        if name not in seen:
            seen.add(name)
            assert_no_serious_axe_faults(page)
            assert_fits_width(page)
            take_picture(page, f"lesson-{name}")
            assert page.locator("h1").count() == 1
            assert page.locator("main").count() == 1

    look("sign_in")
    hands.press_main(page)
    assert page.inner_text(".error")
    assert page.evaluate("document.activeElement.getAttribute('aria-invalid')") == "true"
    page.fill("input[name=operator]", "17")
    hands.press_main(page)
    page.wait_for_function("() => document.querySelector('.error').textContent.includes('17')")
    look("sign_in-wrong")
    hands.sign_in(page)
    look("choose")
    page.click(".door >> nth=0")
    hands.wait_for(page, "intro")
    look("intro")
    hands.press_main(page)
    confirmed = 0
    while hands.wait_for(page, "decision", "summary") == "decision":
        look(f"decision-{control(page)}")
        hands.answer_by_mouse(page)
        confirmed += 1
        assert page.inner_text(".saved").startswith("saved ")
        look(f"consequence-{page.get_attribute('h1', 'data-verdict')}")
        hands.press_main(page)
        hands.wait_for(page, "decision", "summary")
    look("summary")
    assert len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format="A4"))) == 1
    assert "Your usual result may lie anywhere from" in page.inner_text("main")
    (log,) = logs_of(server)
    assert (
        len(log.answers)
        == confirmed
        == len(lesson_library().scenario(log.header.scenarios[0].id).decisions)
    )
    assert log.close is not None
    assert {"decision-choose_one", "decision-mark_places", "decision-order"} <= seen
    page.click("button.door >> nth=0")  # what to practise next is a way there, not only a name
    hands.wait_for(page, "intro")


def control(page: Page) -> str:
    for name, selector in (
        ("quantity", ".amount"),
        ("order", ".order"),
        ("mark_places", ".hotspot"),
        ("choose_one", "input[type=radio]"),
    ):
        if page.query_selector(selector):
            return name
    return "choose_several"


def test_a_lesson_with_the_keyboard_alone(server: Running, page: Page) -> None:
    page.goto(f"{server.url}learn/soak")
    hands.wait_for(page, "sign_in")
    hands.tab_to(page, "input[name=operator]")
    page.keyboard.type("OP-018")
    page.keyboard.press("Enter")
    hands.wait_for(page, "choose")
    hands.tab_to(page, ".door")
    page.keyboard.press("Enter")
    hands.wait_for(page, "intro")
    assert page.evaluate("document.activeElement.tagName") == "H1"
    hands.confirm_by_keys(page)
    while hands.wait_for(page, "decision", "summary") == "decision":
        hands.choose_by_keys(page)
        hands.confirm_by_keys(page)
        hands.wait_for(page, "consequence")
        assert page.evaluate("document.activeElement.tagName") == "H1"
        hands.confirm_by_keys(page)
        hands.wait_for(page, "decision", "summary")
    (log,) = logs_of(server)
    assert log.header.operator == "OP-018"
    assert log.close is not None


def test_a_lesson_on_a_tablet(server: Running, narrow_page: Page) -> None:
    page = narrow_page
    page.goto(server.url)
    take_picture(page, "start-768")
    assert_fits_width(page)
    begin(page, server, "soak")
    assert_fits_width(page)
    hands.press_main(page)
    hands.wait_for(page, "decision")
    seen = 0
    while hands.kind(page) == "decision":
        assert_fits_width(page)
        small = page.evaluate(
            """() => [...document.querySelectorAll(
                'button, .choice, select, input[type=text], summary')]
              .filter(each => each.offsetParent)
              .filter(each => each.getBoundingClientRect().height < 44)
              .map(each => each.outerHTML.slice(0, 80))"""
        )
        assert small == []
        hands.choose_by_mouse(page)
        take_picture(page, f"lesson-768-{seen}-decision")
        hands.press_main(page)
        hands.wait_for(page, "consequence")
        assert_fits_width(page)
        take_picture(page, f"lesson-768-{seen}-consequence")
        assert_no_serious_axe_faults(page)
        hands.press_main(page)
        hands.wait_for(page, "decision", "summary")
        seen += 1
    take_picture(page, "lesson-768-summary")


def test_a_number_needs_its_unit(server: Running, page: Page) -> None:
    begin(page, server, "soak")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    while control(page) != "quantity":
        hands.answer_by_mouse(page)
        hands.press_main(page)
        hands.wait_for(page, "decision")
    hands.press_main(page)
    assert page.evaluate("document.activeElement.className") == "amount"
    page.fill(".amount", "zwei")
    hands.press_main(page)
    assert "not a number" in page.inner_text(".error")
    page.fill(".amount", "40,5")
    hands.press_main(page)
    assert page.evaluate("document.activeElement.tagName") == "SELECT"
    described = page.get_attribute("select", "aria-describedby")
    assert described == page.get_attribute(".error", "id")
    assert hands.kind(page) == "decision"
    page.select_option("select", index=1)
    hands.press_main(page)
    hands.wait_for(page, "consequence")
    assert logs_of(server)[0].answers[-1].value["amount"] == 40.5


def test_rows_can_be_dragged(server: Running, page: Page) -> None:
    begin(page, server, "inspect")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    while control(page) != "order":
        hands.answer_by_mouse(page)
        hands.press_main(page)
        hands.wait_for(page, "decision")
    rows = "[...document.querySelectorAll('.order li')].map(row => row.dataset.id)"
    before = page.evaluate(rows)
    first = page.locator(".handle >> nth=0").bounding_box()
    last = page.locator(".order li >> nth=-1").bounding_box()
    assert first is not None
    assert last is not None
    page.mouse.move(first["x"] + 10, first["y"] + 10)
    page.mouse.down()
    page.mouse.move(first["x"] + 10, last["y"] + last["height"] - 4, steps=12)
    page.mouse.up()
    assert page.evaluate(rows) == [*before[1:], before[0]]
    page.click(".order li:last-child button[data-move='-1']")
    assert page.evaluate(rows) == [*before[1:-1], before[0], before[-1]]


@pytest.mark.parametrize("blocked", [False, True])
def test_the_page_comes_back_after_a_reload(server: Running, page: Page, blocked: bool) -> None:
    if blocked:
        page.add_init_script(
            "Object.defineProperty(window, 'localStorage', {get() { throw new Error('refused'); }})"
        )
    begin(page, server, "soak")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    hands.answer_by_mouse(page)
    said = page.inner_text("h1")
    page.reload()
    if blocked:
        hands.sign_in(page)
        assert "Begun" in page.inner_text(".door >> nth=0")
        page.click(".door >> nth=0")
    hands.wait_for(page, "consequence")
    assert page.inner_text("h1") == said
    hands.press_main(page)
    hands.wait_for(page, "decision")
    (log,) = logs_of(server)
    assert len(log.answers) == 1
    assert [event.what for event in log.events] == ["resumed"]


def test_a_second_window_makes_the_first_one_stop(server: Running, page: Page) -> None:
    begin(page, server, "soak")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    hands.answer_by_mouse(page)
    hands.press_main(page)
    hands.wait_for(page, "decision")
    second = page.context.new_page()
    second.goto(f"{server.url}learn/soak")
    hands.wait_for(second, "decision")
    hands.choose_by_mouse(page)
    hands.press_main(page)
    hands.wait_for(page, "problem")
    assert "second time" in page.inner_text("main")
    assert_no_serious_axe_faults(page)
    assert len(logs_of(server)[0].answers) == 1
    second.close()
    hands.press_main(page)
    hands.wait_for(page, "decision")
