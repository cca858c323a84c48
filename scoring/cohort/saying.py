"""Numbers and names as the report says them: one place, so that every part agrees."""

from __future__ import annotations

from scoring.evidence import Estimate
from scoring.model import Station

STATION_NAMES: dict[Station, str] = {
    "ready": "Getting ready",
    "soak": "Soak",
    "brush": "Brush",
    "rinse": "Rinse",
    "inspect": "Inspect",
}
"""Names of the stations at the head of a row."""

STATION_WORK: dict[Station, str] = {
    "ready": "getting ready",
    "soak": "soaking",
    "brush": "brushing",
    "rinse": "rinsing",
    "inspect": "inspection",
}
"""The work of each station, inside a sentence."""

NOTHING = "\N{EN DASH}"
"""Stands where there is no number; the sentence beside it says why."""

PER_CENT = "\N{NO-BREAK SPACE}%"
"""The sign with the space before it, which must not be broken over two lines."""


def percent(share: float | None) -> str:
    """Return a share as whole per cent: ``38 %``.

    Whole numbers only: no interval here is narrow enough for a decimal.
    """
    return NOTHING if share is None else f"{round(100 * share)}{PER_CENT}"


def span(low: float | None, high: float | None, sign: str = PER_CENT) -> str:
    """Return an interval of shares: ``12 to 63 %``; `sign` ends it."""
    if low is None or high is None:
        return NOTHING
    return f"{round(100 * low)} to {round(100 * high)}{sign}"


def with_span(share: float | None, low: float | None, high: float | None) -> str:
    """Return a share with its interval: ``38 % (12 to 63 %)``."""
    if low is None or high is None:
        return f"{percent(share)} (no interval)"
    return f"{percent(share)} ({span(low, high)})"


def number_with_span(found: Estimate | None, decimals: int = 0) -> str:
    """Return a number with its interval: ``109 (84 to 134)``."""
    if found is None:
        return NOTHING
    value = f"{found.value:.{decimals}f}"
    if found.low is None or found.high is None:
        return f"{value} (no interval)"
    return f"{value} ({found.low:.{decimals}f} to {found.high:.{decimals}f})"


def share_with_span(found: Estimate | None) -> str:
    """Return an estimated share with its interval: ``38 % (12 to 63 %)``."""
    return NOTHING if found is None else with_span(found.value, found.low, found.high)


def count(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun: ``1 sitting``, ``4 sittings``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(names: list[str], last: str = "and") -> str:
    """Return names as a list in words: ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
