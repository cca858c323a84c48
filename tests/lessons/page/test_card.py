"""The card without a browser: serials, dropped doubles, and a reply to every action."""

from __future__ import annotations

from typing import Any

import pytest

from lessons.page.card import SCRIPT, Card
from lessons.page.screens import Frame, problem


def screen(what: str = "") -> dict[str, Any]:
    return problem(Frame("en", "Heading"), what=what, remedy="", button=None)


class Sent(Card):
    """Remembers what is sent to the page."""

    def __init__(self) -> None:
        self.sent: list[Any] = []
        super().__init__(screen())

    def send(self, content: Any, buffers: Any = None) -> None:
        self.sent.append(content)
        super().send(content, buffers)


def press(card: Card, **action: Any) -> None:
    card._handle_msg({"content": {"data": {"method": "custom", "content": action}}, "buffers": []})


def test_each_screen_has_a_serial_of_its_own() -> None:
    card = Card(screen())
    first = card.screen["serial"]
    card.screen = screen()
    assert card.screen["serial"] == first + 1


def test_a_screen_that_the_callback_returns_is_shown() -> None:
    card = Sent()
    card.on_action(lambda action: screen(action["do"]))
    press(card, do="retry", serial=card.screen["serial"])
    assert card.screen["what"] == "retry"
    assert {"do": "kept"} not in card.sent


def test_an_action_that_answers_an_older_screen_is_dropped_and_the_page_freed() -> None:
    card = Sent()
    seen: list[Any] = []
    card.on_action(lambda action: seen.append(action) or screen("next"))
    serial = card.screen["serial"]
    press(card, do="answer", serial=serial)
    press(card, do="answer", serial=serial)
    assert len(seen) == 1
    assert card.sent[-1] == {"do": "kept"}


def test_an_action_without_a_screen_frees_the_page() -> None:
    card = Sent()
    card.on_action(lambda action: None)
    press(card, do="hello", token=None)
    assert card.sent[-1] == {"do": "kept"}


@pytest.mark.parametrize("content", [None, 3, "do", [], {}, {"do": 3}, {"do": None}])
def test_what_is_no_action_is_not_handed_on(content: Any) -> None:
    card = Card(screen())
    seen: list[Any] = []
    card.on_action(lambda action: seen.append(action))
    card._handle_msg({"content": {"data": {"method": "custom", "content": content}}, "buffers": []})
    assert seen == []


def test_the_script_is_one_module_that_asks_nobody() -> None:
    script = str(Card._esm)
    assert script.count("export default") == 1
    assert "import " not in script.replace("@import", "")
    assert "http://" not in script.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in script
    assert "innerHTML" not in script
    assert "@import" not in str(Card._css)
    assert "url(" not in str(Card._css)
    assert len(SCRIPT) == len(set(SCRIPT))
