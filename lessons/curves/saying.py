"""What quantities and outcomes are called on the curves page, and the finding of a curve."""

from __future__ import annotations

from typing import get_args

import numpy as np

from lessons.page.figures import said_amount
from lessons.page.interface import interface
from scoring.bench.outcomes import Outcome
from scoring.bench.response import Over, Response

OVER_NAMES: dict[Over, str] = {
    "minutes": "minutes in the bath",
    "temperature_c": "temperature of the bath",
    "dose_ml": "concentrate in the bath",
    "loads_before": "sets cleaned in the bath before",
    "strokes": "brush strokes",
    "brush_mm": "width of the lumen brush",
    "flush_ml": "water through each lumen",
    "flush_kpa": "pressure of the flush",
    "rinses": "rinses in tap water",
    "wipes": "wipes with a damp cloth",
}

OUTCOME_NAMES: dict[Outcome, str] = {
    "protein": "protein on the worst place",
    "bone": "bone on the worst place",
    "residue_mg": "cleaner left",
    "ions_mg": "salts left by the water",
    "endotoxin_eu": "endotoxin left by the water",
    "droplets": "droplets thrown up",
    "exposure": "droplets that meet bare skin, eyes or mouth",
    "damage": "damage (0 none, 1 unfit for use)",
    "inside_ml": "water inside the device",
    "water_ml": "water left on it",
    "oil_mg": "oil film",
    "stiff": "stiffness of the joints (0 free, 1 dry)",
}

_SIGNS = {"ug/cm2": "µg/cm²", "degC": "°C", "relative count": "", "1": ""}


def over_names() -> list[tuple[str, Over]]:
    """Return every quantity with its name, as a list to choose from."""
    return [(OVER_NAMES[over], over) for over in get_args(Over)]


def outcome_names() -> list[tuple[str, Outcome]]:
    """Return every outcome with its name, as a list to choose from."""
    return [(OUTCOME_NAMES[which], which) for which in get_args(Outcome)]


def unit_sign(unit: str) -> str:
    """Return a unit as people write it; nothing for a bare number."""
    return _SIGNS.get(unit, unit)


def amount(value: float, unit: str) -> str:
    """Return a value with its unit, written as on a lesson's page."""
    return f"{said_amount(value, interface('en'))} {unit_sign(unit)}".strip()


def finding(curve: Response) -> str:
    """Say in one or two sentences what a curve shows; also its text alternative."""
    first, last = curve.y[0], curve.y[-1]
    what, over = OUTCOME_NAMES[curve.outcome], OVER_NAMES[curve.over]
    said = (
        f"{what[:1].upper()}{what[1:]} goes from {amount(first, curve.y_unit)} at "
        f"{amount(curve.x[0], curve.x_unit)} to {amount(last, curve.y_unit)} at "
        f"{amount(curve.x[-1], curve.x_unit)} ({over})."
    )
    if np.ptp(curve.y) <= 1e-9 * max(1.0, abs(first)):
        said = f"{what[:1].upper()}{what[1:]} does not depend on the {over}."
    if curve.window is None:
        return said
    inside = curve.y[(curve.x >= curve.window[0]) & (curve.x <= curve.window[1])]
    if inside.size == 0:
        return said
    low, high = amount(curve.window[0], curve.x_unit), amount(curve.window[1], curve.x_unit)
    window = f" In this department's window, {low} to {high}, it is "
    ends = sorted({amount(inside.min(), curve.y_unit), amount(inside.max(), curve.y_unit)})
    said += window + (
        f"{ends[0]}."
        if len(ends) == 1
        else f"{amount(inside.min(), curve.y_unit)} to {amount(inside.max(), curve.y_unit)}."
    )
    if curve.limit is not None:
        limit = amount(curve.limit, curve.y_unit)
        worst = inside.max()
        said += (
            f" That is within the limit of {limit}."
            if worst <= curve.limit
            else f" The limit is {limit}: part of the window lies above it."
        )
    return said
