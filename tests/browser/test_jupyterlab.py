"""The lesson's notebook opens and runs in JupyterLab too, for whoever builds lessons there."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, TimeoutError, expect

from lessons import HERE as LESSONS
from tests.browser.conftest import PATIENCE_MS, WIDE

TOKEN = "only-for-this-test"
START_S = 60
RUNS, RUN_MS = 4, 12_000


@pytest.fixture
def lab(tmp_path: Path) -> Iterator[str]:
    """JupyterLab on a copy of one notebook; yields the notebook's address."""
    shutil.copy(LESSONS / "soak.ipynb", tmp_path)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen(
        [
            sys.executable,
            *("-m", "jupyterlab", "--no-browser", "--allow-root", f"--port={port}"),
            *("--ip=127.0.0.1", f"--IdentityProvider.token={TOKEN}"),
            f"--ServerApp.root_dir={tmp_path}",
            "--LabApp.news_url=",
            "--LabApp.extension_manager=readonly",
        ],
        cwd=tmp_path,
        env={
            **os.environ,
            "SINKSIDE_RECORDS": str(tmp_path / "records"),
            "JUPYTER_CONFIG_DIR": str(tmp_path / "config"),
            "JUPYTER_DATA_DIR": str(tmp_path / "data"),
        },
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(f"{address}/api?token={TOKEN}", process)
        yield f"{address}/lab/tree/soak.ipynb?token={TOKEN}"
    finally:
        process.terminate()
        process.wait(30)


def _wait_for(address: str, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + START_S
    while time.monotonic() < until and process.poll() is None:
        try:
            urllib.request.urlopen(address, timeout=2).close()  # noqa: S310 - http, built above
        except (urllib.error.URLError, OSError):
            time.sleep(0.3)
        else:
            return
    raise RuntimeError("JupyterLab did not start")


def _run_until_shown(page: Page, shown: Locator) -> None:
    """Run the cells; again when JupyterLab was still loading its widget manager the first time."""
    for _ in range(RUNS):
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        try:
            shown.wait_for(timeout=RUN_MS)
        except TimeoutError:
            page.keyboard.press("Escape")
        else:
            return
    page.screenshot(path=Path(tempfile.gettempdir()) / "sinkside-jupyterlab.png")
    raise AssertionError("the card never showed; see sinkside-jupyterlab.png")


def test_the_notebook_runs_in_jupyterlab(lab: str, browser: Browser, tmp_path: Path) -> None:
    page = browser.new_page(viewport=WIDE)  # type: ignore[arg-type]
    page.set_default_timeout(PATIENCE_MS)
    page.goto(lab)
    page.locator(".jp-Notebook .jp-CodeCell").first.wait_for()
    page.locator('.jp-Notebook-ExecutionIndicator[data-status="idle"]').wait_for()
    code = page.get_by_label("Operator code")
    _run_until_shown(page, code)
    code.fill("OP-41")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", name="what do you want to practise")).to_be_visible()
    page.get_by_role("button", name=re.compile("clamp", re.I)).first.click()
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_role("button", name="Confirm")).to_be_visible()
    assert list((tmp_path / "records" / "lessons" / "OP-41").glob("*.jsonl"))
    page.close()
