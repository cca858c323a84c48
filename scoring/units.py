"""Units a trainee may answer in, and how each becomes the bench's own unit."""

from __future__ import annotations

_TO_BASE: dict[str, tuple[str, float, float]] = {
    "mL": ("mL", 1.0, 0.0),
    "L": ("mL", 1000.0, 0.0),
    "fl oz": ("mL", 29.5735295625, 0.0),
    "min": ("min", 1.0, 0.0),
    "s": ("min", 1.0 / 60.0, 0.0),
    "h": ("min", 60.0, 0.0),
    "degC": ("degC", 1.0, 0.0),
    "degF": ("degC", 5.0 / 9.0, -160.0 / 9.0),
    "mm": ("mm", 1.0, 0.0),
    "cm": ("mm", 10.0, 0.0),
    "kPa": ("kPa", 1.0, 0.0),
    "bar": ("kPa", 100.0, 0.0),
    "psi": ("kPa", 6.894757293168361, 0.0),
    "lux": ("lux", 1.0, 0.0),
    "fc": ("lux", 10.763910416709722, 0.0),
    "rinses": ("rinses", 1.0, 0.0),
    "strokes": ("strokes", 1.0, 0.0),
}
"""Unit to (base unit, factor, offset). Litre, minute, hour and degree Celsius are the SI
Brochure's (9th ed., Table 8); US fluid ounce 29.5735295625 mL exactly (NIST Handbook 44,
App. C); degC = (degF - 32) * 5/9; 1 bar = 100 kPa (SI Brochure, Table 8); 1 psi is a pound-force
(4.4482216152605 N) a square inch (645.16 mm2); 1 foot-candle ("fc") is 1 lm a square foot.
From memory, checked by arithmetic."""

COUNTED = frozenset({"rinses", "strokes"})
"""Units of things done one by one; half a rinse is a slip of the finger."""


def known_units() -> tuple[str, ...]:
    """Return the units an answer may carry."""
    return tuple(_TO_BASE)


def base_unit(unit: str) -> str:
    """Return the unit that the bench uses for this kind of quantity; `KeyError` if unknown."""
    return _TO_BASE[unit][0]


def in_base_unit(amount: float, unit: str) -> float:
    """Convert `amount` of `unit` to the bench's unit.

    Raises
    ------
    KeyError
        The unit is not known.
    """
    _, factor, offset = _TO_BASE[unit]
    return amount * factor + offset


def from_base_unit(amount: float, unit: str) -> float:
    """Convert an amount in the bench's unit to `unit`; the inverse of `in_base_unit`."""
    _, factor, offset = _TO_BASE[unit]
    return (amount - offset) / factor
