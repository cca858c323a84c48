"""The decision card: shows a screen, hands on what the person does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from lessons.page.interface import interface

HERE = Path(__file__).parent
SCRIPT = ("elements", "pictures", "controls", "ordering", "screens", "card")
"""The parts of the page's script; joined in this order they are one module, so no build step."""

Screen = dict[str, Any]
"""What the page shows, as the functions of :mod:`lessons.page.screens` make it."""

Action = dict[str, Any]
"""What the person did: ``do`` names it, the rest depends on it."""


def _script() -> str:
    parts = [HERE / "script" / f"{name}.js" for name in SCRIPT]
    return "\n".join(part.read_text(encoding="utf-8") for part in parts)


def _style() -> str:
    parts = [HERE / "tokens.css", HERE / "card.css"]
    return "\n".join(part.read_text(encoding="utf-8") for part in parts)


class Card(anywidget.AnyWidget):
    """A view of one screen. Nothing is ever scored from it.

    Parameters
    ----------
    screen : dict
        The first screen.
    language : str
        Language of what the card says by itself, until a screen speaks another.

    Attributes
    ----------
    screen : dict
        The screen shown. Each one set gets a new ``serial``, so that a screen equal
        to the last (the same fault twice) still reaches the page, and so that an
        action that answers an older screen is known and dropped.
    """

    _esm = _script()
    _css = _style()

    screen = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, screen: Mapping[str, Any], language: str = "en") -> None:
        self._serial = 0
        self._language = language
        self._callback: Callable[[Action], Screen | None] | None = None
        super().__init__(screen=dict(screen), words=interface(language).page)
        self.on_msg(self._received)

    def on_action(self, callback: Callable[[Action], Screen | None]) -> None:
        """Call `callback` with each action; a screen it returns is shown."""
        self._callback = callback

    @traitlets.validate("screen")
    def _numbered(self, proposal: Mapping[str, Any]) -> Screen:
        self._serial += 1
        return {**proposal["value"], "serial": self._serial}

    def _received(self, _widget: object, content: object, _buffers: object) -> None:
        if not isinstance(content, dict) or not isinstance(content.get("do"), str):
            return
        action = dict(content)
        answers = action.pop("serial", None)
        shown = self._serial
        current = answers is None or answers == shown
        screen = self._callback(action) if current and self._callback is not None else None
        if screen is not None:
            # Before the screen, so that the page builds it with the words of its language.
            self.words = interface(str(screen.get("language", self._language))).page
            self.screen = screen
        if self._serial == shown:
            self.send({"do": "kept"})
