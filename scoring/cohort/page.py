"""The served pages: choices go in, an article comes out; what goes wrong is a sentence."""

from __future__ import annotations

import base64
import os
from collections import OrderedDict
from collections.abc import Mapping
from datetime import date, timedelta
from html import escape
from pathlib import Path

from IPython.display import display

from scoring.cohort.asked import CHOICE, Asked
from scoring.cohort.doors import DOORS, Kind
from scoring.cohort.made_page import CSV_TYPE, XLSX_TYPE, MadePage
from scoring.cohort.pages import (
    MANAGER_TITLE,
    TRAINER_TITLE,
    Cohort,
    load,
    manager_page,
    person_page,
    trainer_page,
)
from scoring.cohort.saying import STATION_NAMES, count
from scoring.cohort.view import Control, Door, Shown, View
from scoring.evidence import DataError
from scoring.faults import FaultError
from scoring.settings import Settings

TITLES: dict[Kind, str] = {
    "manager": MANAGER_TITLE,
    "trainer": TRAINER_TITLE,
    "person": "The sheet of one person",
}

SERVED = "SINKSIDE_SERVED"
"""Set where a page is served: only there do the links between the pages lead anywhere."""

KEPT = 8
"""Pages kept, so that whoever goes back waits for nothing. At about 1 MB each; a working
judgement."""

WORKBOOK = "tables.xlsx"
EVERYTHING = ""


class CohortPage:
    """One page as a machine that knows no widget.

    Parameters
    ----------
    settings : Settings
        Where records and site values are.
    kind : str
        ``manager``, ``trainer`` or ``person``.
    """

    def __init__(self, settings: Settings, kind: Kind) -> None:
        self.kind = kind
        self._cohort: Cohort | None = None
        self._trouble = ""
        self._before: OrderedDict[tuple[tuple[str, str], ...], Shown] = OrderedDict()
        try:
            self._cohort = load(settings)
        except (FaultError, DataError) as error:
            self._trouble = told(error)

    @property
    def controls(self) -> list[Control]:
        """What can be chosen; nothing where there is nothing to choose from."""
        if self._cohort is None or not len(self._cohort.table.sittings):
            return []
        table = self._cohort.table
        every: list[list[str]] = [["All", EVERYTHING]]
        months = [[_month(month), month] for month in table.months()]
        period = [
            Control("since", "From month", [["The beginning", EVERYTHING], *months]),
            Control("until", "To month", [["The end", EVERYTHING], *months]),
        ]
        if self.kind == "person":
            codes = [[code, code] for code in table.operators()]
            return [Control("code", "Code", [["Choose a code", EVERYTHING], *codes]), *period]
        return [
            Control("site", "Site", [*every, *([site, site] for site in table.sites())]),
            Control("station", "Step",
                    [*every, *([STATION_NAMES[one], one] for one in table.stations_met())]),
            *period,
        ]  # fmt: skip

    def shown(self, chosen: Mapping[str, str]) -> Shown:
        """Return the page for these choices; a choice left out asks for everything."""
        key = tuple(sorted((name, value) for name, value in chosen.items() if value))
        if key not in self._before:
            self._before[key] = self._answer(chosen)
            if len(self._before) > KEPT:
                self._before.popitem(last=False)
        return self._before[key]

    def _answer(self, chosen: Mapping[str, str]) -> Shown:
        if self._cohort is None:
            return Shown(_framed(TITLES[self.kind], self._trouble), "The page cannot be shown.")
        if self.kind == "person" and self.controls and not chosen.get("code"):
            return Shown(
                _framed(TITLES["person"], "<p>Choose a code. The sheet is about that person only; "
                        "no other code is on it.</p>"),
                "",
            )  # fmt: skip
        try:
            asked = _asked(chosen)
            made = self._made(self._cohort, asked, chosen.get("code", ""))
            html = made.article(offered(made))
        except (FaultError, DataError) as error:
            return Shown(_framed(TITLES[self.kind], told(error)), "This cannot be shown.")
        return Shown(html, self._said(self._cohort, asked))

    def _made(self, cohort: Cohort, asked: Asked, code: str) -> MadePage:
        if self.kind == "manager":
            return manager_page(cohort, asked)
        if self.kind == "trainer":
            return trainer_page(cohort, asked)
        return person_page(cohort, code, asked)

    def _said(self, cohort: Cohort, asked: Asked) -> str:
        if self.kind == "person" or asked.everything:
            return "The page is up to date."
        table = cohort.table.filtered(
            sites=[asked.site] if asked.site else None, since=asked.since, until=asked.until
        )
        return f"The page is up to date: {count(len(table.sittings), 'sitting')}."


def show(kind: Kind = "manager", settings: Settings | None = None) -> None:
    """Show a page of the records folder; a notebook's one call.

    Parameters
    ----------
    kind : str
        ``manager``, ``trainer`` or ``person``.
    settings : Settings, optional
        Where the records are; taken from the environment when left out.
    """
    page = CohortPage(settings or Settings.from_environment(Path()), kind)
    display(view_of(page))  # type: ignore[no-untyped-call]


def view_of(page: CohortPage) -> View:
    """Return the widget that shows a page."""
    doors = [Door(label, address, kind == page.kind) for kind, label, address, _ in DOORS]
    return View(page.controls, page.shown, doors if SERVED in os.environ else [])


def offered(made: MadePage) -> list[tuple[str, str]]:
    """Return the tables as files inside the page, since the server gives out no file."""
    files = [(name, _address(CSV_TYPE, content)) for name, content in made.tables().items()]
    if files:
        files.append((WORKBOOK, _address(XLSX_TYPE, made.workbook())))
    return files


def told(error: FaultError | DataError) -> str:
    """Return what went wrong as HTML: sentences with the remedy, never a trace."""
    if isinstance(error, DataError):
        return (
            "<p><strong>The records hold something that no figure may come from.</strong></p>"
            f"<p>{escape(error.item)}: found {escape(str(error.found))}, wanted "
            f"{escape(error.wanted)}.</p>"
        )
    return "".join(
        f"<p><strong>{escape(_first(fault.item))}: {escape(fault.found)}</strong></p>"
        f"<p>Wanted: {escape(fault.wanted)}. {escape(fault.remedy)}</p>"
        for fault in error.faults
    )


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]


def _framed(title: str, html: str) -> str:
    return (
        f'<article class="cohort"><header><h1>{escape(title)}</h1></header>'
        f'<div role="alert">{html}</div></article>'
    )


def _address(kind: str, content: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(content).decode('ascii')}"


def _asked(chosen: Mapping[str, str]) -> Asked:
    """Read the choices; the page may send anything, so nothing is taken on trust."""
    try:
        since = _first_day(chosen.get("since", ""))
        after = _first_day(chosen.get("until", ""))
    except ValueError as error:
        raise FaultError.one(
            CHOICE, "month", found=str(error), wanted="a month of the list",
            remedy="Load the page again.",
        ) from error  # fmt: skip
    until = (after + timedelta(days=31)).replace(day=1) - timedelta(days=1) if after else None
    return Asked(chosen.get("site", ""), chosen.get("station", ""), since, until)


def _first_day(month: str) -> date | None:
    return date.fromisoformat(f"{month}-01") if month else None


def _month(month: str) -> str:
    return f"{date.fromisoformat(f'{month}-01'):%B %Y}"
