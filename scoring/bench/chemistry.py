"""Chemistry: what the bath does to each kind of soil without any friction.

Protein follows a linear system with constant rates, solved exactly::

    F' = -(k + f) F + s D          fresh (soft)
    D' = -(k + f + s) D            dried
    X' = f (F + D) - x X           fixed

with k the removal, s the softening of dried into soft soil, f the fixing and x
the removal of fixed protein. Fat and mineral are lost at first order. Every
rate is (water + (agent - water) * dose^1.5 * freshness) * temperature * contact,
with the dose as a share of the label's, at most 1.

Removal is anchored on the published soak of coupons (B4, B5): 0.0086 per minute
with enzyme, 0.0005 without. Friction does the rest, and softening is what a
soak does for the friction. The five-minute agitated immersion of B6 removed
far more, from fresh blood; the two are not comparable, and the still bath of
B4 is the one a sink has.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scoring.bench.constants import Constant, assumed, values
from scoring.bench.handling import Handling
from scoring.bench.operations import Operations, mean_decay
from scoring.bench.temperature import arrhenius, enzyme_left, fixing_by_heat
from scoring.site import SiteValues

_B5 = "B5, a fit to B4; the bath's temperature is not given there"
_FIX = "fixing is certain in direction (B14, B15); its speed is not given"
_SOFT = "15 min soaks as well as 60 (B7), so softening takes minutes; split by agent from B4, B7"

REMOVAL = {
    "enzymatic_cleaner": Constant(
        "protein removal, enzymatic cleaner", 0.0086, "1/min", 0.006, 0.012, _B5, "calculated"
    ),
    "alkaline_cleaner": assumed(
        "protein removal, alkaline cleaner", 0.006, "1/min", 0.003, 0.02,
        "above a neutral detergent (B6), set below the enzyme because B4 has no such arm",
    ),
    "neutral_detergent": Constant(
        "protein removal, detergent without enzyme", 0.0005, "1/min", 0.0002, 0.001, _B5,
        "calculated",
    ),
    "aldehyde": assumed(
        "protein removal, aldehyde", 0.0, "1/min", 0.0, 0.0002, "no cleaning agent (T4)"
    ),
    "oxidiser": assumed(
        "protein removal, oxidiser", 0.0002, "1/min", 0.0, 0.001, "no cleaning agent (T4)"
    ),
    "plain_water": assumed(
        "protein removal, plain water", 0.0002, "1/min", 0.0, 0.0005,
        "not above the solution without enzyme of B5",
    ),
    "hand_soap": assumed(
        "protein removal, hand soap", 0.0002, "1/min", 0.0, 0.0005,
        "surgical hand wash removed nothing in B6, so set to plain water",
    ),
}  # fmt: skip
SOFTENING = {
    "enzymatic_cleaner": assumed(
        "softening of dried protein, enzymatic cleaner", 0.35, "1/min", 0.1, 0.5, _SOFT
    ),
    "alkaline_cleaner": assumed(
        "softening of dried protein, alkaline cleaner", 0.35, "1/min", 0.1, 0.5, _SOFT
    ),
    "neutral_detergent": assumed(
        "softening of dried protein, detergent without enzyme", 0.12, "1/min", 0.03, 0.2, _SOFT
    ),
    "aldehyde": assumed("softening of dried protein, aldehyde", 0.01, "1/min", 0.0, 0.03, _SOFT),
    "oxidiser": assumed("softening of dried protein, oxidiser", 0.01, "1/min", 0.0, 0.03, _SOFT),
    "plain_water": assumed(
        "softening of dried protein, plain water", 0.03, "1/min", 0.01, 0.1, _SOFT
    ),
    "hand_soap": assumed(
        "softening of dried protein, hand soap", 0.03, "1/min", 0.01, 0.1, _SOFT
    ),
}  # fmt: skip
FIXING = {
    "aldehyde": assumed("fixing of protein, aldehyde", 0.08, "1/min", 0.02, 0.3, _FIX),
    "oxidiser": assumed("fixing of protein, oxidiser", 0.05, "1/min", 0.01, 0.2, _FIX),
}
UNFIXING = {
    "alkaline_cleaner": assumed(
        "removal of fixed protein, alkaline cleaner", 0.0015, "1/min", 0.0, 0.006,
        "only an alkaline cleaner restored solubility after extended drying (B7); below its "
        "removal of soft protein, so that fixing never helps",
    ),
    "enzymatic_cleaner": assumed(
        "removal of fixed protein, enzymatic cleaner", 0.0005, "1/min", 0.0, 0.005,
        "far below the alkaline cleaner (B7)",
    ),
}  # fmt: skip
FAT = {
    name: assumed(f"fat removal, {label}", rate, "1/min", rate / 3, rate * 3, "order of T2 alone")
    for name, label, rate in (
        ("enzymatic_cleaner", "enzymatic cleaner", 0.03),
        ("alkaline_cleaner", "alkaline cleaner", 0.08),
        ("neutral_detergent", "detergent without enzyme", 0.03),
        ("aldehyde", "aldehyde", 0.001),
        ("oxidiser", "oxidiser", 0.001),
        ("plain_water", "plain water", 0.001),
        ("hand_soap", "hand soap", 0.02),
    )
}
MINERAL = {
    name: assumed(
        f"mineral removal, {label}", rate, "1/min", rate / 3, rate * 3, "order of T2 alone"
    )
    for name, label, rate in (
        ("enzymatic_cleaner", "enzymatic cleaner", 0.02),
        ("alkaline_cleaner", "alkaline cleaner", 0.005),
        ("neutral_detergent", "detergent without enzyme", 0.02),
        ("aldehyde", "aldehyde", 0.002),
        ("oxidiser", "oxidiser", 0.002),
        ("plain_water", "plain water", 0.005),
        ("hand_soap", "hand soap", 0.005),
    )
}
SPENT = assumed(
    "loss of a bath's action with each set cleaned in it", 0.2, "1/set", 0.05, 0.5,
    "soil uses the cleaner up; direction from T3, R8 and M26",
)  # fmt: skip

THIN = assumed(
    "power of a dose below the label's", 1.5, "1", 1.0, 2.0,
    "half the dose does about a third; 1 would be in proportion; direction from M20",
)  # fmt: skip
MIXED = assumed(
    "action of a cleaner that is left after a second chemical was poured in", 0.2, "1", 0.0, 0.5,
    "an enzyme is lost, and cleaners of opposite kind undo each other; direction from M10",
)  # fmt: skip

CONSTANTS = (
    *REMOVAL.values(), *SOFTENING.values(), *FIXING.values(), *UNFIXING.values(),
    *FAT.values(), *MINERAL.values(), SPENT, THIN, MIXED,
)  # fmt: skip

_REMOVAL, _SOFTENING, _FAT, _MINERAL = (
    values(table) for table in (REMOVAL, SOFTENING, FAT, MINERAL)
)
_FIXING, _UNFIXING = values(FIXING, zero_for=REMOVAL), values(UNFIXING, zero_for=REMOVAL)
_ENZYMATIC = dict.fromkeys(_REMOVAL, 0.0) | {"enzymatic_cleaner": 1.0}


@dataclass(frozen=True, slots=True)
class Rates:
    """What a bath does per minute where it reaches: 1/min each, at least 0."""

    removal: Any
    softening: Any
    fixing: Any
    unfixing: Any
    fat: Any
    mineral: Any


def dose_ratio(handling: Handling, site: SiteValues) -> Any:
    """Return the dose in the bath over the dose its label asks for, at least 0."""
    return handling.dose_ml / (handling.bath_l * site.cleaner.dose_ml_per_l)


def bath_rates(handling: Handling, site: SiteValues, ops: Operations) -> Rates:
    """Return the rates of this bath under full contact.

    A dose below the label's does less than its share; above it no more than at it.
    """
    agent = handling.agent
    strength = ops.minimum(dose_ratio(handling, site), 1.0) ** THIN.value
    strength = strength * ops.exp(-SPENT.value * handling.loads_before)
    undone = ops.where(handling.mixed, MIXED.value, 1.0)
    cap = site.cleaner.temperature_max_c
    celsius = handling.temperature_c
    enzyme = ops.where(ops.pick(_ENZYMATIC, agent), enzyme_left(celsius, cap, ops), 1.0)
    warm = arrhenius("protein", celsius, cap, ops)
    acting = strength * enzyme * undone

    def between(table: Mapping[str, float], acting: Any) -> Any:
        water = table["plain_water"]
        return water + (ops.pick(table, agent) - water) * acting

    return Rates(
        removal=between(_REMOVAL, acting) * warm,
        softening=between(_SOFTENING, acting) * warm,
        fixing=ops.pick(_FIXING, agent) * strength + fixing_by_heat(celsius, cap, ops),
        unfixing=ops.pick(_UNFIXING, agent) * acting * warm,
        fat=between(_FAT, strength) * arrhenius("fat", celsius, cap, ops),
        mineral=between(_MINERAL, strength) * arrhenius("mineral", celsius, cap, ops),
    )


@dataclass(frozen=True, slots=True)
class Shares:
    """What is left, or has changed kind, after a time in the bath; shares of 1."""

    soft: Any
    dried: Any
    fixed: Any
    became_fixed: Any
    fat: Any
    mineral: Any


def shares(rates: Rates, contact: Any, minutes: Any, ops: Operations) -> Shares:
    """Return the exact solution of the bath's equations, ready to be applied to any amounts.

    Parameters
    ----------
    rates : Rates
        From `bath_rates`.
    contact : float or array
        Share of the place that the bath reaches, 0 to 1.
    minutes : float or array
        At least 0.
    ops : Operations
        Scalar or array operations.

    Returns
    -------
    Shares
    """
    reached = contact * minutes
    leaving = (rates.removal + rates.fixing) * reached
    unfixing = rates.unfixing * reached
    soft, fixed = ops.exp(-leaving), ops.exp(-unfixing)
    return Shares(
        soft=soft,
        dried=ops.exp(-leaving - rates.softening * reached),
        fixed=fixed,
        became_fixed=fixed * rates.fixing * reached * mean_decay(leaving - unfixing, ops),
        fat=ops.exp(-rates.fat * reached),
        mineral=ops.exp(-rates.mineral * reached),
    )


def soaked(soil: dict[str, Any], left: Shares, ops: Operations) -> dict[str, Any]:
    """Return the soil of one place after the bath; micrograms by kind, the sum never grows."""
    protein = soil["fresh"] + soil["dried"]
    dried = soil["dried"] * left.dried
    return {
        "fresh": ops.maximum(protein * left.soft - dried, 0.0),
        "dried": dried,
        "fixed": soil["fixed"] * left.fixed + protein * left.became_fixed,
        "fat": soil["fat"] * left.fat,
        "mineral": soil["mineral"] * left.mineral,
        "bone": soil["bone"],
    }
