"""The state of an instrument: soil by place and kind, and what else has happened to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

SOIL_KINDS: tuple[str, ...] = ("fresh", "dried", "fixed", "fat", "mineral", "bone")
"""Kinds of soil kept apart: protein fresh, dried and fixed; fat; mineral; bone and cement."""

PROTEIN: tuple[str, ...] = ("fresh", "dried", "fixed")
"""The kinds that a protein test would answer to."""


@dataclass(frozen=True, slots=True)
class State:
    """What is on the instrument and what the handling has let loose.

    Attributes
    ----------
    soil : dict of str to dict of str to float
        Micrograms by place and kind; every place of the instrument has every
        kind of `SOIL_KINDS`. Values are floats, or arrays of one shape.
    residue_mg : float
        Cleaner left on the instrument, milligrams.
    ions_mg : float
        Dissolved salts left by the last water, milligrams.
    endotoxin_eu : float
        Endotoxin left by the last water, endotoxin units.
    water_ml : float
        Water left on and in the instrument, mL.
    inside_ml : float
        Water that got into a device which must stay dry inside, mL.
    oil_mg : float
        Film that steam cannot pass, milligrams.
    lubricated : float
        0 (joints dry) to 1 (joints move freely).
    droplets : float
        Droplets and vapour let loose so far, a relative count.
    above : float
        Those of them that were let loose above the surface. The rest is the little that
        work below the surface stirs up.
    exposure : float
        Droplets that met uncovered eyes, skin or mouth, a relative count.
    damage : float
        0 (none) to 1 (unfit for use).
    """

    soil: dict[str, dict[str, Any]]
    residue_mg: Any = 0.0
    ions_mg: Any = 0.0
    endotoxin_eu: Any = 0.0
    water_ml: Any = 0.0
    inside_ml: Any = 0.0
    oil_mg: Any = 0.0
    lubricated: Any = 0.0
    droplets: Any = 0.0
    above: Any = 0.0
    exposure: Any = 0.0
    damage: Any = 0.0

    def protein_ug(self, place: str) -> Any:
        """Return the protein on one place, micrograms."""
        return sum(self.soil[place][kind] for kind in PROTEIN)

    def total_ug(self, place: str) -> Any:
        """Return all soil on one place, micrograms."""
        return sum(self.soil[place][kind] for kind in SOIL_KINDS)

    def changed(self, **fields: Any) -> State:
        """Return a copy with these fields."""
        return replace(self, **fields)
