"""Further examples of the methods, in other shapes: missing ratings, charts with points left out.

Their data stand here: short tables from textbooks and documentation. The status of every figure
is said; what other programs computed was computed with them, not copied.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import product
from typing import Any

import numpy as np

from scoring.evidence import TooLittleEvidence
from scoring.measurement.chance_corrected import Coefficient
from scoring.measurement.differential import Differential, mantel_haenszel
from scoring.measurement.fleiss import FleissKappa, conger_kappa, fleiss_kappa
from scoring.measurement.gwet import brennan_prediger, gwet_ac1, gwet_ac2
from scoring.measurement.kappa import CohenKappa, cohen_kappa_from_table
from scoring.measurement.krippendorff_alpha import KrippendorffAlpha, krippendorff_alpha
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.two_parameter import TwoParameterFit, two_parameter
from scoring.variation.balanced_components import BalancedComponents, nested_components
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.chart import ControlChart
from scoring.variation.consistency import cochran_limit, grubbs_limit, mandel_h_limit
from scoring.variation.control_charts import control_chart
from scoring.variation.false_discovery import Flags, flag
from scoring.variation.shift_charts import ShiftChart, ewma
from tests.published.case import Case

MEMORY = "from memory, then reproduced"
COMPUTED = "COMPUTED (irrCAC 0.4.4)"

RATINGS = [
    [1, 1, None, 1], [2, 2, 3, 2], [3, 3, 3, 3], [3, 3, 3, 3], [2, 2, 2, 2], [1, 2, 3, 4],
    [4, 4, 4, 4], [1, 1, 2, 1], [2, 2, 2, 2], [None, 5, 5, 5], [None, None, 1, 1],
    [None, None, 3, None],
]  # fmt: skip
"""Four raters, twelve units, some not rated."""

PATTERNS = (
    12, 19, 1, 7, 3, 19, 3, 17, 10, 5, 3, 7, 7, 23, 8, 28,
    7, 39, 11, 34, 14, 51, 15, 90, 6, 25, 7, 35, 18, 136, 32, 308,
)  # fmt: skip
"""How many of 1,000 persons gave each pattern of five answers, 00000 to 11111."""

SEEDS = (
    (10, 23, 23, 26, 17, 5, 53, 55, 32, 46, 10, 8, 10, 8, 23, 0, 3, 22, 15, 32, 3),
    (39, 62, 81, 51, 39, 6, 74, 72, 51, 79, 13, 16, 30, 28, 45, 4, 12, 41, 30, 51, 7),
)
"""Seeds that sprouted and seeds on each of 21 plates."""

LEAVES = (
    ((3.28, 3.09), (3.52, 3.48), (2.88, 2.80)),
    ((2.46, 2.44), (1.87, 1.92), (2.19, 2.19)),
    ((2.77, 2.66), (3.74, 3.44), (2.55, 2.55)),
    ((3.78, 3.87), (4.07, 4.12), (3.31, 3.31)),
)
"""Calcium of two samples from each of three leaves of each of four plants, per cent."""

CANS = [
    12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22,
    8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6,
]  # fmt: skip
"""Leaking cans among 50, thirty samples."""

FLAWS = [
    21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16,
    19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15,
]  # fmt: skip
"""Flaws on a hundred boards, twenty-six samples."""

DRIFT = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
    49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
]  # fmt: skip

ADMITTED = (
    (512, 313, 89, 19), (353, 207, 17, 8), (120, 205, 202, 391),
    (138, 279, 131, 244), (53, 138, 94, 299), (22, 351, 24, 317),
)  # fmt: skip
"""Men admitted and rejected, women admitted and rejected, in six departments."""

P_VALUES = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344,
    0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
)  # fmt: skip

PATHOLOGISTS = ((22, 2, 2, 0), (5, 7, 14, 0), (0, 2, 36, 0), (0, 1, 17, 10))
DIAGNOSES = ((75, 1, 4), (5, 4, 1), (0, 0, 10))


def coefficient(found: Any) -> Coefficient:
    found = found.total if isinstance(found, FleissKappa) else found
    assert isinstance(found, Coefficient)
    return found


def alpha() -> float:
    found = krippendorff_alpha(RATINGS)
    assert isinstance(found, KrippendorffAlpha)
    return found.value


def kappa(table: Any, **how: Any) -> CohenKappa:
    found = cohen_kappa_from_table(table, **how)
    assert isinstance(found, CohenKappa)
    return found


@cache
def two() -> TwoParameterFit:
    found = two_parameter(list(product((0, 1), repeat=5)), counts=PATTERNS)
    assert isinstance(found, TwoParameterFit)
    return found


@cache
def one() -> RaschFit:
    found = rasch(list(product((0, 1), repeat=5)), counts=PATTERNS)
    assert isinstance(found, RaschFit)
    return found


@cache
def seeds() -> BinomialFit:
    kind, root = np.repeat([0, 1], [11, 10]), np.repeat([0, 1, 0, 1], [5, 6, 5, 5])
    found = fit_binomial(
        *SEEDS,
        groups={"plate": range(21)},
        fixed={"kind": kind, "root": root, "both": kind * root},
        quadrature_points=25,
    )
    assert isinstance(found, BinomialFit)
    return found


def leaves() -> BalancedComponents:
    found = nested_components(LEAVES, ["plant", "leaf"])
    assert isinstance(found, BalancedComponents)
    return found


def chart(events: list[int], n: int, **how: Any) -> ControlChart:
    found = control_chart(events, n, **how)
    assert isinstance(found, ControlChart)
    return found


def beyond(found: ControlChart) -> float:
    """Return how many points lie outside their limits."""
    return float(sum(not point.low <= point.value <= point.high for point in found.points))


def smoothed() -> ShiftChart:
    found = ewma(DRIFT, 50, 2.0539, weight=0.3, limit=3.0, constant_limits=True)
    assert isinstance(found, ShiftChart)
    return found


def departments(continuity: bool) -> Differential:
    rows = [
        (admitted, 1 - admitted, sex, place, count)
        for place, counts in enumerate(ADMITTED)
        for (admitted, sex), count in zip(
            ((1, "m"), (0, "m"), (1, "w"), (0, "w")), counts, strict=True
        )
    ]
    found = mantel_haenszel(
        [row[:2] for row in rows],
        [row[2] for row in rows],
        reference="m",
        matching=[row[3] for row in rows],
        counts=[row[4] for row in rows],
        continuity=continuity,
    )
    assert not isinstance(found, TooLittleEvidence)
    first = found[1]
    assert isinstance(first, Differential)
    return first


def flagged() -> float:
    found = flag(P_VALUES, rate=0.05)
    assert isinstance(found, Flags)
    return float(len(found.flagged))


def case(
    example: str,
    source: str,
    quantity: str,
    compute: Callable[[], float],
    published: float,
    digits: int,
    status: str = MEMORY,
) -> Case:
    return Case(example, source, quantity, status, compute, published, digits)


GWET = (
    "Four raters, twelve units, missing ratings",
    "Gwet KL, Handbook of Inter-Rater Reliability",
)
LSAT = ("LSAT section 7", "Bock RD, Lieberman M (1970), Psychometrika 35:179-197")
SPROUT = ("Seeds on 21 plates", "Crowder MJ (1978), Appl Stat 27:34-37; ML fit often reprinted")
LEAF = ("Calcium of turnip leaves", "Snedecor GW, Cochran WG, Statistical Methods")
CAN = ("Cans, p chart", "Montgomery DC, Introduction to Statistical Quality Control, ch. 7")
BOARD = ("Boards, c chart", "Montgomery DC, Introduction to Statistical Quality Control, ch. 7")
TREND = ("EWMA example", "NIST/SEMATECH e-Handbook, 6.3.2.4")
ADMISSION = ("Admissions, six departments", "R's UCBAdmissions with mantelhaen.test")
TABLES = ("Critical values for outliers", "ISO 5725-2, tables")
TWO_RATERS = ("Two raters' tables", "Fleiss JL (1981); Agresti A (2002)")

CASES: list[Case] = [
    case(*GWET, "AC1", lambda: coefficient(gwet_ac1(RATINGS)).value, 0.77544, 5),
    case(*GWET, "AC1, error", lambda: coefficient(gwet_ac1(RATINGS)).standard_error, 0.14295, 5),
    case(*GWET, "Fleiss", lambda: coefficient(fleiss_kappa(RATINGS)).value, 0.76117, 5),
    case(*GWET, "Fleiss, error",
         lambda: coefficient(fleiss_kappa(RATINGS)).standard_error, 0.15302, 5),
    case(*GWET, "Krippendorff", alpha, 0.74342, 5),
    case(*GWET, "Conger", lambda: coefficient(conger_kappa(RATINGS)).value, 0.76282, 5),
    case(*GWET, "Brennan-Prediger",
         lambda: coefficient(brennan_prediger(RATINGS)).value, 0.77273, 5, COMPUTED),
    case(*GWET, "AC2, quadratic",
         lambda: coefficient(gwet_ac2(RATINGS, weights="quadratic")).value, 0.914001, 6, COMPUTED),
    case(*GWET, "AC2, ordinal",
         lambda: coefficient(gwet_ac2(RATINGS, weights="ordinal")).value, 0.898940, 6, COMPUTED),
    case(*GWET, "AC2, ratio, error",
         lambda: coefficient(gwet_ac2(RATINGS, weights="ratio")).standard_error, 0.122071, 6,
         COMPUTED),
    case(*GWET, "Conger, radical",
         lambda: coefficient(conger_kappa(RATINGS, weights="radical")).value, 0.788340, 6,
         COMPUTED),
    case(*TWO_RATERS, "kappa of 100 diagnoses", lambda: kappa(DIAGNOSES).value, 0.676, 3),
    case(*TWO_RATERS, "error under guessing",
         lambda: kappa(DIAGNOSES).null_standard_error, 0.076, 3),
    case(*TWO_RATERS, "kappa of two pathologists", lambda: kappa(PATHOLOGISTS).value, 0.493, 3),
    case(*TWO_RATERS, "its error", lambda: kappa(PATHOLOGISTS).standard_error, 0.057, 3),
    case(*TWO_RATERS, "linear weights",
         lambda: kappa(PATHOLOGISTS, weights="linear").value, 0.649, 3),
    case(*LSAT, "log likelihood, two parameters", lambda: two().log_likelihood, -2658.805, 3),
    case(*LSAT, "discrimination 1", lambda: float(two().discrimination[0]), 0.988, 3),
    case(*LSAT, "discrimination 4", lambda: float(two().discrimination[3]), 0.765, 3),
    case(*LSAT, "intercept 2", lambda: float(two().intercept[1]), 0.808, 3),
    case(*LSAT, "easiness 1, Rasch", lambda: -float(one().difficulty[0]), 1.868, 3),
    case(*LSAT, "easiness 5, Rasch", lambda: -float(one().difficulty[4]), 1.993, 3),
    case(*SPROUT, "intercept", lambda: float(seeds().coefficients[0]), -0.548, 3),
    case(*SPROUT, "kind of seed", lambda: float(seeds().coefficients[1]), 0.097, 3),
    case(*SPROUT, "kind of root", lambda: float(seeds().coefficients[2]), 1.337, 3),
    case(*SPROUT, "error of both", lambda: float(seeds().standard_errors[3]), 0.385, 3),
    case(*SPROUT, "spread between plates", lambda: seeds().sds["plate"], 0.236, 3),
    case(*LEAF, "mean square of plants", lambda: leaves().lines["plant"].ms, 2.52, 2),
    case(*LEAF, "variance between plants", lambda: leaves().variances["plant"].value, 0.3652, 4),
    case(*LEAF, "variance between leaves", lambda: leaves().variances["leaf"].value, 0.1611, 4),
    case(*LEAF, "variance within a leaf", lambda: leaves().variances["residual"].value, 0.0067, 4),
    case(*CAN, "centre", lambda: chart(CANS, 50).centre, 0.2313, 4),
    case(*CAN, "upper limit", lambda: chart(CANS, 50).points[0].high, 0.4102, 4),
    case(*CAN, "points outside", lambda: beyond(chart(CANS, 50)), 2, 0),
    case(*CAN, "centre without two", lambda: chart(CANS, 50, exclude=[15, 23]).centre, 0.2150, 4),
    case(*CAN, "upper limit without two",
         lambda: chart(CANS, 50, exclude=[15, 23]).points[0].high, 0.3893, 4),
    case(*CAN, "points outside then", lambda: beyond(chart(CANS, 50, exclude=[15, 23])), 3, 0),
    case(*BOARD, "centre", lambda: chart(FLAWS, 1, form="c").centre, 19.85, 2),
    case(*BOARD, "lower limit", lambda: chart(FLAWS, 1, form="c").points[0].low, 6.48, 2),
    case(*BOARD, "upper limit without two",
         lambda: chart(FLAWS, 1, form="c", exclude=[6, 20]).points[0].high, 32.97, 2),
    case(*TREND, "first value", lambda: smoothed().upper[0], 50.60, 2),
    case(*TREND, "last value", lambda: smoothed().upper[-1], 51.99, 2),
    case(*TREND, "upper limit", lambda: smoothed().limits[0][1], 52.5884, 4),
    case(*ADMISSION, "odds ratio",
         lambda: float(np.exp(departments(True).log_odds.value)), 0.9046968, 7, "COMPUTED (R 4.2)"),
    case(*ADMISSION, "its lower end",
         lambda: float(np.exp(departments(True).log_odds.low or 0.0)), 0.7719074, 7,
         "COMPUTED (R 4.2)"),
    case(*ADMISSION, "chi-squared", lambda: departments(True).statistic, 1.4269, 4,
         "COMPUTED (R 4.2)"),
    case(*ADMISSION, "chi-squared, uncorrected", lambda: departments(False).statistic, 1.5246, 4,
         "COMPUTED (R 4.2)"),
    case(*TABLES, "Grubbs, 10, 5 %", lambda: grubbs_limit(10, 0.05), 2.290, 3),
    case(*TABLES, "Grubbs, 10, 1 %", lambda: grubbs_limit(10, 0.01), 2.482, 3),
    case(*TABLES, "Cochran, 10 pairs, 5 %", lambda: cochran_limit(10, 2, 0.05), 0.602, 3),
    case(*TABLES, "Mandel h, 10, 5 %", lambda: mandel_h_limit(10, 0.05), 1.80, 2),
    case(*TABLES, "Mandel h, 10, 1 %", lambda: mandel_h_limit(10, 0.01), 2.18, 2),
    case("Fifteen tests of one trial", "Benjamini Y, Hochberg Y (1995), J R Stat Soc B 57:289-300",
         "flagged at 5 %", flagged, 4, 0),
]  # fmt: skip
