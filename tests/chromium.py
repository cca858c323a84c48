"""Finding the browser that the tests drive, and bringing it when there is none."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
USUAL_PLACES = (
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)


class NoBrowserError(RuntimeError):
    """No Chromium-based browser is here and none could be installed."""


def find_chromium() -> str | None:
    """Return the path of a Chromium-based browser, or None.

    ``SINKSIDE_BROWSER`` names one that lies elsewhere.
    """
    named = os.environ.get("SINKSIDE_BROWSER")
    if named:
        return named if Path(named).exists() else None
    for name in NAMES:
        found = shutil.which(name)
        if found:
            return found
    return next((place for place in USUAL_PLACES if Path(place).exists()), None)


def bring_chromium() -> str:
    """Return the path of a browser, installing Debian's chromium when there is none.

    Raises
    ------
    NoBrowserError
        None is here and this machine has no ``apt-get`` that may be used.
    """
    found = find_chromium()
    if found:
        return found
    apt = shutil.which("apt-get")
    if apt is None or os.environ.get("SINKSIDE_BROWSER"):
        raise NoBrowserError(_advice())
    asking = [] if os.geteuid() == 0 else ["sudo", "--non-interactive"]
    print("Installing the browser that the tests drive (Debian's chromium) …", flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for arguments in (["update", "-qq"], ["install", "-y", "-qq", "chromium", "fonts-dejavu-core"]):
        done = subprocess.run(
            [*asking, apt, *arguments], env=environment, capture_output=True, text=True, check=False
        )
        if done.returncode != 0:
            raise NoBrowserError(f"{_advice()}\n\napt-get said:\n{done.stderr.strip()[-600:]}")
    found = find_chromium()
    if found is None:
        raise NoBrowserError(_advice())
    return found


def _advice() -> str:
    return (
        "The tests drive a real browser and none was found.\n"
        "Install Chromium, Chrome or Edge, or set SINKSIDE_BROWSER to its full path, "
        "and run the command again."
    )
