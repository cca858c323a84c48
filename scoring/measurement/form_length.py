"""How the reliability of a form changes with its length, and how long it must be."""

from __future__ import annotations

import math

from scoring.evidence import DataError, TooLittleEvidence


def spearman_brown(reliability: float, factor: float) -> float:
    """Return the reliability of a form `factor` times as long (Spearman 1910, Brown 1910).

    Parameters
    ----------
    reliability : float
        Of the form as it is, above -1 and at most 1.
    factor : float
        New length divided by the old; above 0.
    """
    if not (-1 < reliability <= 1):
        raise DataError("reliability", reliability, "above -1 and at most 1")
    if not (math.isfinite(factor) and factor > 0):
        raise DataError("factor", factor, "above 0")
    below = 1 + (factor - 1) * reliability
    if below <= 0:
        raise DataError(
            "reliability", reliability, f"above {-1 / (factor - 1):.3f} for this factor"
        )
    return factor * reliability / below


def lengthening_needed(reliability: float, wanted: float) -> float | TooLittleEvidence:
    """Return how many times as long a form must be for the `wanted` reliability, in (0, 1)."""
    if not 0 < wanted < 1:
        raise DataError("wanted", wanted, "between 0 and 1")
    if not reliability <= 1:
        raise DataError("reliability", reliability, "at most 1")
    if reliability <= 0:
        return TooLittleEvidence(
            "reliability", "The reliability is not above 0; a longer form cannot be reckoned."
        )
    return wanted * (1 - reliability) / (reliability * (1 - wanted))


def items_needed(items: int, reliability: float, wanted: float) -> int | TooLittleEvidence:
    """Return how many items like the `items` there are give the `wanted` reliability."""
    if items < 1:
        raise DataError("items", items, "1 or more")
    factor = lengthening_needed(reliability, wanted)
    if isinstance(factor, TooLittleEvidence):
        return factor
    # What binary fractions add must not cost an item.
    return max(1, math.ceil(items * factor - 1e-9))
