"""Testing: what a residue test would and would not tell. It changes nothing on the instrument.

A colour test answers to the protein on the swab, ``p = 1 / (1 + (ug75 / ug)^s / 3)``, which
is 75 % at the published amount (E1). The swab takes only a part of what is there (E3), so a
place can be above a limit and the test stay negative.

An ATP test answers to cells, not to protein. The bench holds no cells, so it predicts no
reading; it says how often two tests of the same channels must have disagreed (C10).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.operations import SCALAR, Operations
from scoring.bench.state import PROTEIN

ColourTest = Literal["ninhydrin", "biuret"]
Analyte = Literal["protein", "toc", "carbohydrate", "haemoglobin", "atp"]
Band = Literal["below alert", "alert", "action"]

SEEN_BY_75 = {
    "ninhydrin": Constant(
        "protein that 75 % of people detect, ninhydrin test", 9.25, "ug", 8.6, 10.0,
        "E1, with its interval", "read",
    ),
    "biuret": Constant(
        "protein that 75 % of people detect, biuret test", 6.7, "ug", 5.4, 8.2,
        "E1, with its interval", "read",
    ),
}  # fmt: skip
STEEP = assumed(
    "steepness of a colour test's answer", 8.0, "1", 4.0, 16.0,
    "neither test shows 5 ug (E1), so the answer must have fallen far by there",
)  # fmt: skip
RECOVERED = {
    "fresh": Constant(
        "protein that a wet swab takes off, soft", 0.68, "1", 0.6, 0.76,
        "E3: 32 % of the albumin stayed; that soft blood is like albumin is an assumption",
        "calculated",
    ),
    "dried": Constant(
        "protein that a wet swab takes off, dried", 0.39, "1", 0.3, 0.5,
        "E3: 61 % of the fibrinogen stayed; that dried blood is like fibrinogen is an assumption",
        "calculated",
    ),
    "fixed": assumed(
        "protein that a wet swab takes off, fixed", 0.1, "1", 0.0, 0.3,
        "below dried protein; E3 tested none (B14)",
    ),
}  # fmt: skip


def _levels(level: str, rows: tuple[tuple[Analyte, str, float, str], ...]) -> dict[str, Constant]:
    return {
        key: Constant(f"{level} value, {label}", value, unit, value, value, "L1", "restated")
        for key, label, value, unit in rows
    }


ALERT = _levels(
    "alert",
    (
        ("protein", "protein", 3.0, "ug/cm2"),
        ("toc", "organic carbon", 6.0, "ug/cm2"),
        ("carbohydrate", "carbohydrate", 0.9, "ug/cm2"),
        ("haemoglobin", "haemoglobin", 1.0, "ug/cm2"),
        ("atp", "ATP", 10.0, "fmol/cm2"),
    ),
)
ACTION = _levels(
    "action",
    (
        ("protein", "protein", 6.4, "ug/cm2"),
        ("toc", "organic carbon", 12.0, "ug/cm2"),
        ("carbohydrate", "carbohydrate", 1.8, "ug/cm2"),
        ("haemoglobin", "haemoglobin", 2.2, "ug/cm2"),
        ("atp", "ATP", 22.0, "fmol/cm2"),
    ),
)
CONSTANTS = (
    *SEEN_BY_75.values(), STEEP, *RECOVERED.values(), *ALERT.values(), *ACTION.values(),
)  # fmt: skip

_RECOVERED = values(RECOVERED)
_NOTHING_UG = 1e-9
"""ug below which a swab is taken as this, so that no amount divides by 0."""


def chance_of_colour(test: ColourTest, swab_ug: Any, ops: Operations = SCALAR) -> Any:
    """Return the chance that a person sees the colour change, 0 to 1.

    Parameters
    ----------
    test : str
        ``ninhydrin`` or ``biuret``.
    swab_ug : float or array
        Protein on the swab, ug, at least 0.
    ops : Operations
        Scalar or array operations.
    """
    ratio = ops.log(SEEN_BY_75[test].value / ops.maximum(swab_ug, _NOTHING_UG))
    return 1.0 / (1.0 + ops.exp(STEEP.value * ratio) / 3.0)


def swab_ug(soil: Mapping[str, Any], share_swabbed: Any = 1.0) -> Any:
    """Return the protein that one wet swab brings away from a place, ug.

    Parameters
    ----------
    soil : mapping of str to float or array
        Micrograms on the place, by kind of soil.
    share_swabbed : float or array
        Share of the place that the swab goes over, 0 to 1. In a lumen it is small.
    """
    return share_swabbed * sum(soil[kind] * _RECOVERED[kind] for kind in PROTEIN)


def chance_of_missing(
    test: ColourTest,
    soil: Mapping[str, Any],
    area_cm2: float,
    limit: float,
    share_swabbed: Any = 1.0,
    ops: Operations = SCALAR,
) -> Any:
    """Return the chance that the test stays negative although the place is above the limit.

    Parameters
    ----------
    test : str
        ``ninhydrin`` or ``biuret``.
    soil : mapping of str to float or array
        Micrograms on the place, by kind of soil.
    area_cm2 : float
        The place's surface, above 0.
    limit : float
        The site's limit for protein, ug/cm2.
    share_swabbed : float or array
        Share of the place that the swab goes over, 0 to 1.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        0 where the place is within the limit: there is nothing to miss.
    """
    protein = sum(soil[kind] for kind in PROTEIN)
    silent = 1.0 - chance_of_colour(test, swab_ug(soil, share_swabbed), ops)
    return ops.where(protein / area_cm2 > limit, silent, 0.0)


def band(analyte: Analyte, amount: float) -> Band:
    """Return where a measured residue stands between the alert and the action value (L1).

    Parameters
    ----------
    analyte : str
        ``protein``, ``toc``, ``carbohydrate``, ``haemoglobin`` (ug/cm2) or ``atp`` (fmol/cm2).
    amount : float
        At least 0. A value itself belongs to the band that it opens.
    """
    if amount >= ACTION[analyte].value:
        return "action"
    return "alert" if amount >= ALERT[analyte].value else "below alert"


def least_and_most_missed(tested: int, found_by_one: int, found_by_other: int) -> tuple[int, int]:
    """Return how many items the first test must and can have found that the other did not.

    Two totals do not say how the tests agreed item by item; these are the bounds
    that follow from the totals alone (Frechet; textbook, memory).

    Parameters
    ----------
    tested : int
        Items that met both tests.
    found_by_one, found_by_other : int
        Items that each test called soiled, at most `tested`.

    Raises
    ------
    ValueError
        A count is negative or above `tested`.
    """
    if not all(0 <= found <= tested for found in (found_by_one, found_by_other)):
        raise ValueError(f"of {tested} items a test cannot find {found_by_one}, {found_by_other}")
    return max(0, found_by_one - found_by_other), min(found_by_one, tested - found_by_other)
