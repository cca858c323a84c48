"""What every test in a real browser uses: the browser, the server, the checks of a page.

Nothing here is a stand-in: it is Debian's chromium on the served pages.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright, Request, sync_playwright

from lessons import HERE as LESSONS
from scoring.model import STATIONS
from tests.browser.running import Running, running_server
from tests.chromium import find_chromium

ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
WIDE = {"width": 1280, "height": 800}
NARROW = {"width": 768, "height": 1024}
PATIENCE_MS = 30_000
"""How long a screen may take on a machine that is busy with other tests."""

HARMLESS = re.compile(
    r"(Unsatisfied version|No satisfying version) .* (shared|singleton)|^Available versions:"
)
"""The widget libraries warn that they were built against a later front end than Voila's."""


def lesson_doors() -> dict[str, Path]:
    """Return the door of every station that has a notebook."""
    return {
        f"/learn/{station}": LESSONS / f"{station}.ipynb"
        for station in STATIONS
        if (LESSONS / f"{station}.ipynb").exists()
    }


# Not for the session: while it is open, this thread has a running event loop, and other tests
# must be free to start their own.
@pytest.fixture(scope="module")
def playwright_() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def browser(playwright_: Playwright) -> Iterator[Browser]:
    started = playwright_.chromium.launch(executable_path=find_chromium(), args=list(ARGUMENTS))
    yield started
    started.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    """The lessons, served with records of their own."""
    with running_server(tmp_path / "records", lesson_doors()) as running:
        yield running


@pytest.fixture(scope="session")
def shared_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The lessons served once for every test that leaves no record."""
    records = tmp_path_factory.mktemp("shared") / "records"
    with running_server(records, lesson_doors()) as running:
        yield running


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh profile at 1280 px; fails when the page reaches out or complains."""
    yield from watched_page(browser, WIDE)


@pytest.fixture
def narrow_page(browser: Browser) -> Iterator[Page]:
    """The same at 768 px."""
    yield from watched_page(browser, NARROW)


def watched_page(browser: Browser, size: dict[str, int]) -> Iterator[Page]:
    """Yield a page; afterwards check that it asked one host only and wrote no error."""
    context = browser.new_context(viewport=size)  # type: ignore[arg-type]
    opened = context.new_page()
    opened.set_default_timeout(PATIENCE_MS)
    hosts: set[str] = set()
    complaints: list[str] = []

    def note_request(request: Request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme in ("http", "https", "ws", "wss"):
            hosts.add(parts.netloc)

    def note_console(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not HARMLESS.search(message.text):
            complaints.append(message.text)

    context.on("request", note_request)
    opened.on("websocket", lambda socket: hosts.add(urlsplit(socket.url).netloc))
    opened.on("console", note_console)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.expected_complaints = []  # type: ignore[attr-defined]
    yield opened
    expected = opened.expected_complaints  # type: ignore[attr-defined]
    context.close()
    assert len(hosts) <= 1, f"the page asked {sorted(hosts)}"
    assert all(host.startswith("127.0.0.1:") for host in hosts)
    left = [text for text in complaints if not any(re.search(known, text) for known in expected)]
    assert not left, left


def assert_no_serious_axe_faults(page: Page) -> None:
    """Fail when axe finds a serious or critical fault on the page as it stands."""
    found = Axe().run(page).response["violations"]
    serious = [
        f"{fault['id']} ({fault['impact']}): {fault['nodes'][0]['html'][:200]}"
        for fault in found
        if fault["impact"] in ("serious", "critical")
    ]
    assert not serious, serious


def assert_fits_width(page: Page) -> None:
    """Fail when the page scrolls sideways."""
    wide, shown = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= shown


def take_picture(page: Page, name: str) -> None:
    """Keep a screenshot in the folder that ``SINKSIDE_SCREENSHOTS`` names, if it does."""
    folder = os.environ.get("SINKSIDE_SCREENSHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)
