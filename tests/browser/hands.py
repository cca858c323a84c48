"""What a person does on the card, with the mouse or with the keyboard alone."""

from __future__ import annotations

import time

from playwright.sync_api import Page

from tests.browser.running import Running

KERNEL_ID = "() => JSON.parse(document.getElementById('jupyter-config-data').textContent).kernelId"
"""The id of the page's own kernel."""


def kill_kernel(server: Running, page: Page) -> None:
    """Kill the page's kernel, as a crash would, and wait until it is gone."""
    kernel_id = page.evaluate(KERNEL_ID)
    kernel = server.kernel(kernel_id)
    assert kernel is not None
    kernel.kill()
    wait_until_gone(server, kernel_id)


def wait_until_gone(server: Running, kernel_id: str) -> None:
    """Wait until a kernel has ended."""
    end = time.monotonic() + 15
    while server.kernel(kernel_id) and time.monotonic() < end:
        time.sleep(0.2)
    assert server.kernel(kernel_id) is None


def kind(page: Page) -> str:
    """Return the kind of the screen that is shown."""
    return page.get_attribute("main", "data-kind") or ""


def wait_for(page: Page, *kinds: str) -> str:
    """Wait until one of these screens is shown and say which."""
    page.wait_for_function(
        "kinds => kinds.includes(document.querySelector('main')?.dataset.kind)", arg=list(kinds)
    )
    return kind(page)


def press_main(page: Page) -> None:
    """Press the screen's main button with the mouse."""
    page.click("button.main")


def sign_in(page: Page, operator: str = "OP-017") -> None:
    """Type the operator code and go on."""
    wait_for(page, "sign_in")
    page.fill("input[name=operator]", operator)
    press_main(page)
    wait_for(page, "choose")


def choose_by_mouse(page: Page, amount: str = "3") -> None:
    """Give some answer to the decision that is shown, without confirming it."""
    if page.query_selector(".amount"):
        page.fill(".amount", amount)
        if page.query_selector("select"):  # not there when only one unit is on offer
            page.select_option("select", index=1)
    elif page.query_selector(".order"):
        page.click("li:nth-child(1) button[data-move='1']")
    elif page.query_selector(".hotspot"):
        page.click(".hotspot >> nth=0")
    else:
        page.click(".choice >> nth=0")


def answer_by_mouse(page: Page) -> None:
    """Give an answer, confirm it, and wait for what follows."""
    choose_by_mouse(page)
    press_main(page)
    wait_for(page, "consequence", "receipt", "summary", "problem")


def tab_to(page: Page, selector: str, most: int = 60) -> None:
    """Press Tab until the focus is on an element that matches."""
    for _ in range(most):
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no Tab stop reaches {selector}")


def choose_by_keys(page: Page, amount: str = "3") -> None:
    """Give some answer with the keyboard alone."""
    if page.query_selector(".amount"):
        tab_to(page, "input.amount")
        page.keyboard.type(amount)
        page.keyboard.press("Tab")
        page.keyboard.press("ArrowDown")
    elif page.query_selector(".order"):
        tab_to(page, "button[data-move='1']")
        page.keyboard.press("Enter")
    elif page.query_selector("input[type=radio]"):
        tab_to(page, "input[type=radio]")
        page.keyboard.press("ArrowDown")
    else:
        tab_to(page, "input[type=checkbox]")
        page.keyboard.press("Space")


def confirm_by_keys(page: Page) -> None:
    """Go to the main button and press it."""
    tab_to(page, "button.main")
    page.keyboard.press("Enter")
