"""The templates of the parts of a page, and how numbers stand in them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jinja2

from scoring.cohort.saying import NOTHING, PER_CENT, STATION_NAMES, STATION_WORK, count, listed
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.printing import page_templates

TEMPLATES = Path(__file__).with_name("templates")

Answer = Estimate | TooLittleEvidence | None

MINUS = "\N{MINUS SIGN}"


def decimal(value: float | None, places: int = 2) -> str:
    """Return a number with a true minus sign and no minus before zero: ``0.31``."""
    if value is None:
        return NOTHING
    text = f"{value:.{places}f}"
    if float(text) == 0:
        text = f"{0:.{places}f}"
    return text.replace("-", MINUS)


def figure(answer: Answer, places: int = 2) -> str:
    """Return an estimate with its interval: ``0.31 (0.02 to 0.55)``; a dash where there is none."""
    if not isinstance(answer, Estimate):
        return NOTHING
    if answer.low is None or answer.high is None:
        return f"{decimal(answer.value, places)} (no interval)"
    low, high = decimal(answer.low, places), decimal(answer.high, places)
    return f"{decimal(answer.value, places)} ({low} to {high})"


def rate(answer: Answer) -> str:
    """Return a share with its interval in per cent: ``38 % (12 to 63 %)``."""
    if not isinstance(answer, Estimate):
        return NOTHING
    whole = f"{decimal(100 * answer.value, 0)}{PER_CENT}"
    if answer.low is None or answer.high is None:
        return f"{whole} (no interval)"
    low, high = decimal(100 * answer.low, 0), decimal(100 * answer.high, 0)
    return f"{whole} ({low} to {high}{PER_CENT})"


def value(answer: Answer) -> float | None:
    """Return the figure alone, for a table to take away."""
    return answer.value if isinstance(answer, Estimate) else None


def ends(answer: Answer) -> tuple[float | None, float | None]:
    """Return the interval's ends alone."""
    return (answer.low, answer.high) if isinstance(answer, Estimate) else (None, None)


def filled(name: str, values: Mapping[str, Any]) -> str:
    """Return a part's HTML from its template ``<name>.html.j2``."""
    pages: jinja2.Environment = page_templates(TEMPLATES)
    pages.filters |= {
        "count": count,
        "decimal": decimal,
        "figure": figure,
        "listed": listed,
        "rate": rate,
        "station": STATION_NAMES.__getitem__,
        "work": STATION_WORK.__getitem__,
    }
    return pages.get_template(f"{name}.html.j2").render(values)
