"""The anchors of the bench: what is published, and what the bench computes for it.

``python -m scoring.bench.anchors`` writes the table into ``README.md`` beside this
file; a test holds every row to its tolerance and the README to the table.

An anchor that was used to set a constant (`fitted`) agrees because it was made
to; no published figure was left over to test the model with. `arithmetic` is a
textbook formula against worked cases. `compared` stands for figures which the
bench does not reproduce, or which measure something else: no agreement is
claimed, and the table says how far the two lie apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal

from scoring.bench import testing
from scoring.bench.flow import laminar_flow_ml_s, reynolds
from scoring.bench.inspecting import chance_on
from scoring.bench.lumen import BORE
from scoring.bench.operations import SCALAR
from scoring.bench.reference import (
    COUPON,
    FORCEPS,
    HINGED,
    RIGHT,
    TUBE,
    only,
    run,
    soil,
)
from scoring.bench.rinsing import dilution, fills_that_dilute, overflow
from scoring.bench.temperature import REFERENCE, arrhenius_ratio, fixing_by_heat
from scoring.bench.water import density, viscosity
from scoring.readme_part import write_part

Use = Literal["fitted", "arithmetic", "compared"]
Rule = Literal["near", "at most", "at least"]


@dataclass(frozen=True, slots=True)
class Anchor:
    """One published figure and how the bench comes to its own.

    Attributes
    ----------
    facts : str
        Ids of the table of facts, between semicolons; empty for textbook physics.
    what : str
        What was measured, with what the bench had to assume.
    published : float
        The figure, in `unit`.
    unit : str
    compute : callable
        Returns the bench's figure.
    tolerance : float
        Largest difference allowed, as a share of `published`; in `unit` if `absolute`.
    use : Use
        Whether the figure set a constant.
    status : str
        How the figure is known, with the words of the table of facts.
    rule : Rule
        ``near`` within the tolerance, or a bound that holds.
    absolute : bool
    """

    facts: str
    what: str
    published: float
    unit: str
    compute: Callable[[], float]
    tolerance: float
    use: Use
    status: str = "read"
    rule: Rule = "near"
    absolute: bool = False

    def holds(self) -> bool:
        """Return whether the bench's figure is where it is said to be."""
        slack = self.tolerance * (1.0 if self.absolute else abs(self.published))
        off = self.compute() - self.published
        if self.use == "compared":
            # Said not to agree: if it did, the table would be wrong.
            return abs(off) > slack
        if self.rule == "near":
            return abs(off) <= slack
        return off <= slack if self.rule == "at most" else off >= -slack


def _soaked(agent: str, start: float, minutes: float) -> float:
    handling = RIGHT.changed(agent=agent, temperature_c=REFERENCE.value, minutes=minutes)
    done = run(("soak",), only(COUPON, front={"dried": start}), handling, COUPON)
    return float(done.protein_ug("front"))


def _agitated(agent: str, start: float) -> float:
    handling = RIGHT.changed(agent=agent, temperature_c=REFERENCE.value, minutes=5.0)
    done = run(("soak",), only(COUPON, front={"fresh": start}), handling, COUPON)
    return start - float(done.protein_ug("front"))


_IN_JOINT = 0.37
"""Share of the protein that lies in the joint: assumption, see C5 in `brushing`."""


def _removed_from_forceps(inner_joint: bool) -> float:
    start = {"joint": {"dried": 1000 * _IN_JOINT}, "cup": {"dried": 1000 * (1 - _IN_JOINT)}}
    handling = RIGHT.changed(strokes=14.0, inner_joint=inner_joint)
    done = run(("brush",), only(HINGED, **start), handling, HINGED)
    left = float(sum(done.total_ug(place) for place in done.soil))
    return 100.0 * (1.0 - left / 1000.0)


def _channel(*steps: str, start: float = 335.4) -> float:
    handling = RIGHT.changed(flush_ml=50.0, strokes=6.0, brush_mm=BORE.value)
    done = run(steps, soil(TUBE, fresh=start), handling, TUBE)
    return float(done.protein_ug("lumen")) / TUBE.places["lumen"].area_cm2


def _log10_of_six_passes() -> float:
    return math.log10(335.4 / _channel("brush"))


def _who_detect(test: testing.ColourTest, ug: float) -> float:
    return 100.0 * float(testing.chance_of_colour(test, ug))


def _silent_protein_tests() -> float:
    return float(testing.least_and_most_missed(24, 17, 2)[0])


def _whole_bore_over_half() -> float:
    whole, half = (laminar_flow_ml_s(bore, 300.0, 5.0, 20.0) for bore in (2.0, 1.0))
    return float(whole / half)


def _viscosity_mpa_s(celsius: float) -> float:
    return 1e3 * float(viscosity(celsius))


def _threshold(analyte: testing.Analyte, above: testing.Band) -> float:
    """Return where the bench's band opens, found by halving."""
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2.0
        reached = testing.band(analyte, middle)
        low, high = (low, middle) if reached in (above, "action") else (middle, high)
    return high


def _serial(carry: float, fill: float, rinses: int) -> float:
    return float(dilution(carry, fill) ** fills_that_dilute(float(rinses), True, SCALAR))


def _swabbed(kind: str) -> float:
    nothing = {"fresh": 0.0, "dried": 0.0, "fixed": 0.0}
    return 100.0 - 2.0 * float(testing.swab_ug({**nothing, kind: 50.0}))


def _seen_unaided() -> float:
    ordinary = RIGHT.changed(light_lux=300.0, magnification=1.0, borescope=False)
    places = (*HINGED.places.values(), *TUBE.places.values(), *FORCEPS.places.values())
    return 100.0 * max(float(chance_on(place, 5.0, ordinary)) for place in places)


_B4 = (10, 947), (20, 864), (30, 812), (45, 691), (60, 620)
_B4N = (10, 1069), (20, 1069), (30, 1067), (45, 1059), (60, 1042)
_L1: tuple[tuple[testing.Analyte, float, float], ...] = (
    ("protein", 3.0, 6.4), ("toc", 6.0, 12.0), ("carbohydrate", 0.9, 1.8),
    ("haemoglobin", 1.0, 2.2), ("atp", 10.0, 22.0),
)  # fmt: skip
_SERIAL = (
    (1, 99, 1, 1e-2), (1, 99, 2, 1e-4), (1, 99, 3, 1e-6), (5, 995, 3, 1.25e-7),
    (5, 495, 2, 1e-4), (10, 490, 3, 8e-6),
)  # fmt: skip
_OVERFLOW = (
    (1.0, 0.3678794411714424), (2.302585, 0.1000000092994), (4.60517, 0.01000000185988),
    (6.907755, 0.00100000027898),
)  # fmt: skip
_Q10 = (
    (30, 1.4810131117706822), (40, 1.6881532580882765), (50, 1.9242648158508215),
    (52.9, 1.9987211116300807), (60, 2.1933998372366794), (80, 2.849861422794064),
    (100, 3.7027950815213955),
)  # fmt: skip
_LUMENS = (
    (1.0, 300, 20, 20, 1.6336, 2073), (1.0, 300, 20, 40, 2.5068, 4852),
    (2.0, 400, 10, 20, 9.8018, 6219), (3.2, 1200, 10, 20, 21.412, 8491),
    (0.8, 250, 50, 40, 3.0803, 7452),
)  # fmt: skip
_WATER = ((20, 998.207, 1.0016), (40, 992.219, 0.6527), (60, 983.20, 0.4660))


def _bands(alert: float, action: float) -> tuple[tuple[testing.Band, float], ...]:
    return ("alert", alert), ("action", action)


_PROTEIN: tuple[Anchor, ...] = (
    *(
        Anchor("B4; B5", f"soak with enzyme, {minutes} min, from 1033 ug dried", ug, "ug",
               partial(_soaked, "enzymatic_cleaner", 1033.0, minutes),
               0.03, "fitted")
        for minutes, ug in _B4
    ),
    *(
        Anchor("B4n; B5", f"soak without enzyme, {minutes} min, from 1080 ug (assumption)", ug,
               "ug", partial(_soaked, "neutral_detergent", 1080.0, minutes),
               0.03, "fitted")
        for minutes, ug in _B4N
    ),
    Anchor("C5", "hinged forceps, two cleanings by hand (14 strokes, 37 % of the protein in the "
           "joint: assumptions)", 82.3, "%", partial(_removed_from_forceps, False), 1.0, "fitted",
           absolute=True),
    Anchor("C5", "the same, inner hinge brushed as well", 93.8, "%",
           partial(_removed_from_forceps, True), 1.0, "fitted", absolute=True),
    Anchor("C6", "channel of 335.4 ug/cm2, flush of 50 mL without a brush", 3.99, "ug/cm2",
           partial(_channel, "flush"), 0.05, "fitted"),
    Anchor("C6", "the same channel, flush and six passes of a brush", 0.23, "ug/cm2",
           partial(_channel, "flush", "brush"), 0.10, "fitted"),
    Anchor("C6; L6", "the same channel, not brushed, passes a limit for protein alone", 6.4,
           "ug/cm2", partial(_channel, "flush"), 0.0, "fitted", rule="at most"),
    Anchor("C7", "six passes of a brush: published germs, computed protein", 3.003, "log10",
           _log10_of_six_passes, 0.5, "compared", absolute=True),
    Anchor("B6", "five minutes moved about in alkaline detergent, 3700 ug fresh", 2070.0, "ug off",
           partial(_agitated, "alkaline_cleaner", 3700.0), 0.5, "compared"),
    Anchor("B6", "the same in treated water", 1421.0, "ug off",
           partial(_agitated, "plain_water", 3700.0), 0.5, "compared"),
    Anchor("B6", "the same in a surgical hand wash", 0.0, "ug off",
           partial(_agitated, "hand_soap", 3700.0), 20.0, "fitted", absolute=True),
)  # fmt: skip

_TESTS: tuple[Anchor, ...] = (
    Anchor("E1", "ninhydrin test: people who detect 9.25 ug", 75.0, "%",
           partial(_who_detect, "ninhydrin", 9.25), 1e-9, "fitted"),
    Anchor("E1", "biuret test: people who detect 6.7 ug", 75.0, "%",
           partial(_who_detect, "biuret", 6.7), 1e-9, "fitted"),
    Anchor("E1", "neither test can show 5 ug (taken as: fewer than one in four; assumption)", 25.0,
           "%", partial(_who_detect, "biuret", 5.0), 0.0, "fitted",
           rule="at most"),
    Anchor("E3", "albumin that stays when swabbed with water", 32.0, "%",
           partial(_swabbed, "fresh"), 1e-9, "fitted"),
    Anchor("E3", "fibrinogen that stays when swabbed with water", 61.0, "%",
           partial(_swabbed, "dried"), 1e-9, "fitted"),
    Anchor("E4", "soiled places that the unaided eye finds, at most (5 ug/cm2: assumption)", 11.0,
           "%", _seen_unaided, 1e-9, "fitted", rule="at most"),
    Anchor("C10", "channels of 24 that ATP must have failed and protein passed, from the totals",
           15.0, "channels", _silent_protein_tests, 0.0,
           "arithmetic", "calculated"),
    *(
        Anchor("L1", f"{analyte}: where the band {band!r} opens", value,
               "fmol/cm2" if analyte == "atp" else "ug/cm2",
               partial(_threshold, analyte, band),
               1e-9, "fitted", "restated")
        for analyte, alert, action in _L1
        for band, value in _bands(alert, action)
    ),
)  # fmt: skip

_PHYSICS: tuple[Anchor, ...] = (
    *(
        Anchor("", f"serial rinse: {carry} mL carried into {fill} mL, fills: {n}", share, "1",
               partial(_serial, carry, fill, n),
               1e-12, "arithmetic", "calculated")
        for carry, fill, n, share in _SERIAL
    ),
    *(
        Anchor("", f"overflow rinse: {turnovers:g} times the basin", share, "1",
               partial(overflow, turnovers, SCALAR),
               1e-9, "arithmetic", "calculated")
        for turnovers, share in _OVERFLOW
    ),
    *(
        Anchor("", f"Hagen-Poiseuille: {bore} mm x {length} mm, {kpa} kPa, {celsius} degC", flow,
               "mL/s", partial(laminar_flow_ml_s, bore, length, kpa, celsius),
               1e-4, "arithmetic", "calculated")
        for bore, length, kpa, celsius, flow, _ in _LUMENS
    ),
    *(
        Anchor("", f"Reynolds number of {flow} mL/s through {bore} mm at {celsius} degC", number,
               "1", partial(reynolds, flow, bore, celsius),
               2e-4, "arithmetic", "calculated")
        for bore, _, _, celsius, flow, number in _LUMENS
    ),
    Anchor("", "flow at one pressure, a bore over half of it", 16.0, "1",
           _whole_bore_over_half,
           1e-12, "arithmetic", "calculated"),
    *(
        Anchor("", f"Arrhenius, 25 to 35 degC, {energy:g} kJ/mol", ratio, "1",
               partial(arrhenius_ratio, energy * 1e3, 35.0, 25.0, SCALAR),
               1e-6, "arithmetic", "calculated")
        for energy, ratio in _Q10
    ),
    *(
        Anchor("", f"density of water at {celsius} degC (handbook)", rho, "kg/m3",
               partial(density, celsius), 0.012, "arithmetic", "memory",
               absolute=True)
        for celsius, rho, _ in _WATER
    ),
    *(
        Anchor("", f"viscosity of water at {celsius} degC (handbook)", mu, "mPa s",
               partial(_viscosity_mpa_s, celsius), 3e-4, "arithmetic",
               "memory")
        for celsius, _, mu in _WATER
    ),
)  # fmt: skip

ANCHORS: tuple[Anchor, ...] = (*_PROTEIN, *_TESTS, *_PHYSICS)
"""Every anchor, in the order of the table."""

CAPS: tuple[tuple[str, float, str], ...] = (
    ("R2", 43.0, "memory"), ("B16", 45.0, "restated"), ("R1", 45.0, "memory"),
    ("B17", 49.0, "restated"),
)  # fmt: skip
"""Published temperatures that a bath should not pass, degC. They disagree."""


def fixed_by_a_soak(cap: float, celsius: float, minutes: float) -> float:
    """Return the share of the protein that a soak fixes if `cap` is the true cap, 0 to 1.

    Parameters
    ----------
    cap : float
        Temperature above which protein fixes, degC.
    celsius : float
        Temperature of the bath, degC.
    minutes : float
        Length of the soak, at least 0.
    """
    return -math.expm1(-float(fixing_by_heat(celsius, cap, SCALAR)) * minutes)


_EXACT = 1e-9
"""A tolerance that leaves room for rounding alone."""


def _shown(number: float) -> str:
    return f"{number:.4g}"


def markdown() -> str:
    """Return both tables as Markdown."""
    rows = [
        "| facts | what | published | computed | unit | allowed | use | status |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for anchor in ANCHORS:
        allowed = f"{anchor.tolerance:g}" if anchor.absolute else f"{100 * anchor.tolerance:g} %"
        if anchor.tolerance <= _EXACT:
            allowed = "exact"
        if anchor.use == "compared":
            allowed = f"more than {allowed} apart"
        elif anchor.rule != "near":
            allowed = anchor.rule
        rows.append(
            f"| {anchor.facts or 'textbook'} | {anchor.what} | {_shown(anchor.published)} | "
            f"{_shown(anchor.compute())} | {anchor.unit} | {allowed} | {anchor.use} | "
            f"{anchor.status} |"
        )
    rows += [
        "",
        "Published caps disagree. What ten minutes at 46 degC and at 50 degC would fix in this "
        "model, were each of them the true one:",
        "",
        "| fact | cap, degC | status | fixed at 46 degC | fixed at 50 degC |",
        "|---|---|---|---|---|",
    ]
    for fact, cap, status in CAPS:
        at = [f"{100 * fixed_by_a_soak(cap, celsius, 10.0):.0f} %" for celsius in (46.0, 50.0)]
        rows.append(f"| {fact} | {cap:g} | {status} | {at[0]} | {at[1]} |")
    return "\n".join(rows)


if __name__ == "__main__":
    write_part("anchors", markdown())
