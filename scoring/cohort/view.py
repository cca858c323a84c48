"""The widget of the served pages: lists to choose from, and the article that follows from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import anywidget
import traitlets

from scoring.cohort.render import css

HERE = Path(__file__).parent


class Control(NamedTuple):
    """One list to choose from: its name, its label, and (label, value) of each choice."""

    name: str
    label: str
    options: Sequence[Sequence[str]]


class Door(NamedTuple):
    """One link to a page: what it says, its address, and whether it is this page."""

    label: str
    address: str
    here: bool


class Shown(NamedTuple):
    """What the page shows: its article, and what is said to those who listen."""

    html: str
    said: str


class View(anywidget.AnyWidget):
    """Shows a page, and shows it anew when something else is chosen.

    Parameters
    ----------
    controls : sequence of Control
        Perhaps none.
    answer : callable
        Makes the page for the values chosen, by name of the control.
    doors : sequence of Door
        Links to the pages beside; may be empty.
    """

    _esm = (HERE / "view.js").read_text(encoding="utf-8")
    _css = css() + (HERE / "view.css").read_text(encoding="utf-8")

    controls: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
    doors: traitlets.List[dict[str, Any]] = traitlets.List().tag(sync=True)
    chosen = traitlets.Dict().tag(sync=True)
    shown = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        controls: Sequence[Control],
        answer: Callable[[Mapping[str, str]], Shown],
        doors: Sequence[Door] = (),
    ) -> None:
        self._answer = answer
        super().__init__(
            controls=[control._asdict() for control in controls],
            doors=[door._asdict() for door in doors],
            chosen={"serial": 0},
            shown=answer({})._asdict() | {"serial": 0},
        )
        self.observe(self._changed, names="chosen")

    def _changed(self, change: Mapping[str, Any]) -> None:
        given = change["new"]
        known = {control["name"] for control in self.controls}
        values = {name: str(given[name]) for name in known if name in given}
        self.shown = self._answer(values)._asdict() | {"serial": given.get("serial", 0)}
