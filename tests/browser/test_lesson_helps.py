"""What helps in a lesson: a hint, the words of the trade, and what if; by mouse and by keys."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser import hands
from tests.browser.conftest import (
    NARROW,
    WIDE,
    assert_fits_width,
    assert_no_serious_axe_faults,
    take_picture,
)
from tests.browser.running import Running
from tests.browser.test_lesson import begin, control, logs_of

STATION = "soak"
TELEPHONE = {"width": 320, "height": 640}


def check(page: Page, name: str) -> None:
    """Look at the screen in each size and come back to the first."""
    for size in (NARROW, TELEPHONE, WIDE):
        page.set_viewport_size(size)  # type: ignore[arg-type]
        assert_no_serious_axe_faults(page)
        assert_fits_width(page)
        take_picture(page, f"help-{size['width']}-{name}")


def focused(page: Page, selector: str) -> bool:
    return bool(page.evaluate("wanted => document.activeElement.matches(wanted)", selector))


def chosen(page: Page) -> list[str]:
    found = page.evaluate(
        "() => [...document.querySelectorAll('fieldset input:checked')].map(box => box.value)"
    )
    return list(found)


def to_choice(page: Page) -> None:
    """Play on until a decision of one choice is shown, where a draft can be seen to stay."""
    while control(page) != "choose_one":
        hands.answer_by_mouse(page)
        hands.press_main(page)
        hands.wait_for(page, "decision")


def to_summary(page: Page) -> None:
    while hands.wait_for(page, "decision", "summary") == "decision":
        hands.answer_by_mouse(page)
        hands.press_main(page)
        hands.wait_for(page, "decision", "summary")


def see_terms(page: Page) -> None:
    """The words of the trade are open: each is explained, and the last is not below the footer."""
    page.wait_for_function("() => document.querySelector('.terms').open")
    terms = page.locator(".terms dt").all_inner_texts()
    assert len(terms) == page.locator(".terms dd").count() > 0
    assert terms == sorted(terms, key=str.lower)
    text = page.inner_text(".text").lower()
    assert any(term.lower() in text for term in terms)
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    last, bar = page.evaluate(
        """() => [[...document.querySelectorAll('.terms dd')].at(-1).getBoundingClientRect().bottom,
                  document.querySelector('.bar').getBoundingClientRect().top]"""
    )
    assert last <= bar


def see_hint(page: Page, server: Running, draft: list[str]) -> None:
    """The hint stands in place of its button, is written down, and what was chosen stays."""
    page.wait_for_selector(".hint p")
    assert page.inner_text(".hint p").startswith("A hint: ")
    assert page.query_selector(".hint button") is None
    assert draft
    assert chosen(page) == draft
    # Whoever asked by keys goes on from the hint and not from the top of the page.
    assert focused(page, ".hint p")
    assert [event.what for event in logs_of(server)[0].events if event.what == "hint"] == ["hint"]


def test_helps_with_the_mouse(server: Running, page: Page) -> None:
    begin(page, server, STATION)
    assert not page.is_visible(".terms dl")
    page.click(".terms summary")
    see_terms(page)
    check(page, "terms")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    to_choice(page)
    described = page.get_attribute(".hint button", "aria-describedby")
    assert page.inner_text(f"#{described}") == "It costs 25 % of this question's points."
    hands.choose_by_mouse(page)
    draft = chosen(page)
    page.click(".hint button")
    see_hint(page, server, draft)
    check(page, "hint")
    to_summary(page)
    check(page, "summary")
    written = [path.read_bytes() for path in sorted(server.records.rglob("*.jsonl"))]
    assert written
    page.click("text=What if?")
    hands.wait_for(page, "choose")
    check(page, "what-if-choose")
    page.click(".door >> nth=0")
    hands.wait_for(page, "decision")
    assert "You answered: " in page.inner_text("main")
    assert page.query_selector(".hint button") is None
    check(page, "what-if-ask")
    hands.choose_by_mouse(page)  # the answer that was given: nothing to compare
    hands.press_main(page)
    page.wait_for_function("() => document.querySelector('.error').textContent !== ''")
    assert page.inner_text(".error").startswith("This is the answer that you gave.")
    check(page, "what-if-same")
    page.click(".choice >> nth=-1")
    hands.press_main(page)
    hands.wait_for(page, "what_if")
    text = page.inner_text("main")
    assert text.index("You answered: ") < text.index("Tried here: ") < text.index("by the book")
    assert page.locator(".pair .picture").count() == 2
    check(page, "what-if-ends")
    page.click("text=Back to how it went")
    hands.wait_for(page, "summary")
    assert [path.read_bytes() for path in sorted(server.records.rglob("*.jsonl"))] == written


def test_helps_with_the_keyboard_alone(server: Running, narrow_page: Page) -> None:
    page = narrow_page
    begin(page, server, STATION)
    hands.tab_to(page, ".terms summary")
    page.keyboard.press("Enter")
    see_terms(page)
    hands.confirm_by_keys(page)
    hands.wait_for(page, "decision")
    to_choice(page)
    hands.choose_by_keys(page)
    draft = chosen(page)
    hands.tab_to(page, ".hint button")
    page.keyboard.press("Enter")
    see_hint(page, server, draft)
    page.set_viewport_size(WIDE)  # type: ignore[arg-type]
    hands.confirm_by_keys(page)
    hands.wait_for(page, "consequence")
    hands.confirm_by_keys(page)
    to_summary(page)
    hands.tab_to(page, ".buttons .other")
    assert page.evaluate("document.activeElement.textContent") == "What if?"
    page.keyboard.press("Enter")
    hands.wait_for(page, "choose")
    assert focused(page, "h1")
    hands.tab_to(page, ".door")
    page.keyboard.press("Enter")
    hands.wait_for(page, "decision")
    assert focused(page, "h1")
    hands.tab_to(page, "input")
    page.keyboard.press("ArrowUp")  # up from the first one is the last one
    hands.confirm_by_keys(page)
    hands.wait_for(page, "what_if")
    assert focused(page, "h1")
    hands.tab_to(page, "button.other")
    page.keyboard.press("Enter")
    hands.wait_for(page, "summary")
    assert focused(page, "h1")
    (log,) = logs_of(server)
    assert log.close is not None
