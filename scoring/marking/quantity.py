"""Give a quantity with its unit."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

from scoring.bench.handling import Handling
from scoring.marking.keys import QuantityKey
from scoring.marking.rule import Credit, Rule, UnreadableAnswer
from scoring.scenario import Quantity, Side
from scoring.units import base_unit, in_base_unit, known_units

SLACK = 1e-9
"""Relative slack at the edges of the window: 109.4 degF must be 43 degC in spite of rounding."""

_RANGES = {
    setting.name: (setting.metadata["low"], setting.metadata["high"])
    for setting in dataclasses.fields(Handling)
}
"""What the bench can be set to; outside it an answer is a slip of the finger, not a choice."""


def check(decision: Quantity, value: Any) -> str | None:
    """Say why this is no quantity that can be set at the sink; None when it is one."""
    if not isinstance(value, dict) or not value.keys() <= {"amount", "unit"}:
        return "Give a number and a unit."
    unit, amount = value.get("unit"), value.get("amount")
    if unit is None or unit == "":
        return "Give the unit as well."
    if not isinstance(unit, str) or unit not in known_units():
        return "This unit is not known. Choose one of: " + ", ".join(decision.units) + "."
    if base_unit(unit) not in {
        base_unit(known) for known in decision.units if known in known_units()
    }:
        return f"{unit} is the wrong kind of unit here. Choose one of: {', '.join(decision.units)}."
    if unit not in decision.units:
        return "Choose one of these units: " + ", ".join(decision.units) + "."
    if isinstance(amount, bool) or not isinstance(amount, int | float):
        return "Give the amount as a number."
    low, high = _RANGES[decision.sets]
    if not (isinstance(amount, int) and abs(amount) > 1e15) and math.isfinite(amount):
        base = in_base_unit(float(amount), unit)
        if low - SLACK * max(1.0, low) <= base <= high * (1.0 + SLACK):
            return None
    return "This amount cannot be set at the sink. Check the number and the unit."


def rule(decision: Quantity, key: QuantityKey) -> Rule:
    """Compile the rule: full credit in the window, falling linearly to none at its outer bounds.

    An answer outside the window that its side calls unsafe is unsafe when it
    earns nothing: close to the window it is a near miss, not a danger. A working
    judgement, no source.
    """

    def mark(value: Any) -> Credit:
        misfit = check(decision, value)
        if misfit is not None:
            raise UnreadableAnswer(misfit)
        amount = in_base_unit(float(value["amount"]), value["unit"])
        if amount < key.low - SLACK * abs(key.low):
            share = (amount - key.floor) / (key.low - key.floor) if key.low > key.floor else 0.0
            return _off("too_low", share, decision.too_low)
        if amount > key.high + SLACK * abs(key.high):
            fall = key.ceiling - key.high
            return _off(
                "too_high", (key.ceiling - amount) / fall if fall > 0 else 0.0, decision.too_high
            )
        return Credit(1.0, "right")

    return mark


def _off(reason: str, share: float, side: Side) -> Credit:
    earned = min(1.0, max(0.0, share))
    return Credit(earned, reason, (side.mistake,), side.unsafe and earned == 0.0)
