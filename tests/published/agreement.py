"""Agreement of raters, intraclass correlations and signal detection, as published."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scoring.evidence import Estimate
from scoring.measurement.chance_corrected import Coefficient
from scoring.measurement.fleiss import (
    FleissKappa,
    conger_kappa,
    fleiss_kappa,
    fleiss_kappa_from_counts,
)
from scoring.measurement.gwet import brennan_prediger, gwet_ac1
from scoring.measurement.intraclass import Form, Intraclass, intraclass_from_long
from scoring.measurement.kappa import CohenKappa, cohen_kappa_from_table
from scoring.measurement.krippendorff_alpha import KrippendorffAlpha, Level, krippendorff_alpha
from scoring.measurement.rating_grid import RatingGrid, rating_grid_from_long
from scoring.variation.signal_detection import SignalDetection, signal_detection
from tests.published.case import Case, block, cases, rows

COHEN = block("rater_agreement", "cohen_1960_1968")["data"]
SHROUT_FLEISS = block("variance_components", "shrout_fleiss")
MEMORY = "from memory, then reproduced"


def cohen(table: Any, n: int | None = None, **how: Any) -> CohenKappa:
    found = cohen_kappa_from_table(table, n, interval="normal", **how)
    assert isinstance(found, CohenKappa)
    return found


def cohen_1960() -> CohenKappa:
    return cohen(COHEN["proportions"], COHEN["N"])


def cohen_1968() -> CohenKappa:
    return cohen(
        COHEN["proportions"],
        COHEN["N"],
        weights=COHEN["disagreement_weights"],
        weights_are="disagreement",
    )


def diagnoses() -> list[list[str]]:
    """Ratings of Fleiss' 30 patients, one row a patient."""
    held = rows("ra_fleiss1971_diagnoses_30x6.csv")
    return [[row[f"rater{rater}"] for rater in range(1, 7)] for row in held]


def fleiss() -> FleissKappa:
    found = fleiss_kappa(diagnoses())
    assert isinstance(found, FleissKappa)
    return found


def category(name: str) -> float:
    found = fleiss().by_category[name]
    assert isinstance(found, Coefficient)
    return found.value


def known(found: object) -> Coefficient:
    assert isinstance(found, Coefficient)
    return found


def four_by_twelve() -> RatingGrid:
    """Ratings of Krippendorff's twelve units by four observers."""
    held = rows("ra_krippendorff_4x12.csv")
    return rating_grid_from_long(
        [int(row["unit"]) for row in held],
        [row["observer"] for row in held],
        [int(row["value"]) if row["value"] not in ("", "NA") else None for row in held],
    )


def alpha(ratings: Any, level: Level = "nominal") -> float:
    found = krippendorff_alpha(
        ratings, level, rows=None if isinstance(ratings, RatingGrid) else "raters"
    )
    assert isinstance(found, KrippendorffAlpha)
    return found.value


def shrout_fleiss() -> Intraclass:
    held = rows("vc_shrout_fleiss_1979.csv")
    found = intraclass_from_long(
        [row["target"] for row in held],
        [row["judge"] for row in held],
        [float(row["rating"]) for row in held],
    )
    assert isinstance(found, Intraclass)
    return found


def end(form: Form, side: str) -> float:
    found: float = getattr(shrout_fleiss().forms[form], side)
    return found


def remembered(
    example: str, source: str, figures: list[tuple[str, Callable[[], float], float, int]]
) -> list[Case]:
    """Return the cases of an example that stands in no data file."""
    return [
        Case(example, source, quantity, MEMORY, compute, published, digits)
        for quantity, compute, published, digits in figures
    ]


def two_raters(example: str, source: str, table: Any, **printed: tuple[float, int]) -> list[Case]:
    """Return the cases of one square table: a figure's name and how it is computed."""
    how: dict[str, Callable[[], float]] = {
        "kappa": lambda: cohen(table).value,
        "standard_error": lambda: cohen(table).standard_error,
        "null_standard_error": lambda: cohen(table).null_standard_error,
        "linear": lambda: cohen(table, weights="linear").value,
        "linear_error": lambda: cohen(table, weights="linear").standard_error,
        "quadratic": lambda: cohen(table, weights="quadratic").value,
        "quadratic_error": lambda: cohen(table, weights="quadratic").standard_error,
        "maximum": lambda: cohen(table).maximum,
        "pabak": lambda: cohen(table).pabak,
        "prevalence_index": lambda: cohen(table).prevalence_index or 0.0,
        "bias_index": lambda: cohen(table).bias_index or 0.0,
    }
    return remembered(
        example, source, [(name, how[name], *figure) for name, figure in printed.items()]
    )


FLEISS_TEN = [
    [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
    [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
]  # fmt: skip


def ten() -> FleissKappa:
    found = fleiss_kappa_from_counts(FLEISS_TEN)
    assert isinstance(found, FleissKappa)
    return found


RARE = [[1, 1]] * 118 + [[1, 0]] * 5 + [[0, 1]] * 2
"""The table 118, 5, 2, 0 of two raters, unit by unit."""


def yes_no(hits: int, misses: int, false_alarms: int, correct_rejections: int) -> SignalDetection:
    found = signal_detection(hits, misses, false_alarms, correct_rejections, correction="none")
    assert isinstance(found, SignalDetection)
    return found


def value_of(estimate: Estimate) -> float:
    return estimate.value


CASES: list[Case] = [
    *cases(
        "rater_agreement",
        "cohen_1960_1968",
        {
            "kappa": lambda: cohen_1960().value,
            "weighted kappa": lambda: cohen_1968().value,
            "var kappa (Fleiss-Cohen-Everitt 1969)": lambda: cohen_1960().variance,
        },
        # The program used for this variance put weights of disagreement into a formula for weights
        # of agreement: 0.124 would be an error of 0.35 at 200 units. The kit gives 0.0057, which
        # tests/scoring/measurement/test_kappa.py gets from the multinomial covariance too.
        elsewhere=["var weighted"],
    ),
    *cases(
        "rater_agreement",
        "fleiss_1971",
        {
            "kappa": lambda: fleiss().total.value,
            "P_bar": lambda: fleiss().total.observed,
            "P_e": lambda: fleiss().total.expected,
            "exact kappa (Conger 1980)": lambda: known(conger_kappa(diagnoses())).value,
            **{
                f"category kappa {name}": (lambda name=name: category(name))
                for name in sorted({one for row in diagnoses() for one in row})
            },
        },
        misprints={"P_e": "remembered, not reproduced by the independent program either"},
    ),
    *cases(
        "rater_agreement",
        "krippendorff",
        {
            "nominal": lambda: alpha(four_by_twelve()),
            "ordinal": lambda: alpha(four_by_twelve(), "ordinal"),
            "interval": lambda: alpha(four_by_twelve(), "interval"),
            "ratio": lambda: alpha(four_by_twelve(), "ratio"),
        },
    ),
    *cases(
        "variance_components",
        "shrout_fleiss",
        {
            **{
                form: (lambda form=form: shrout_fleiss().forms[form].value)
                for form in ("ICC1", "ICC2", "ICC3", "ICC1k", "ICC2k", "ICC3k")
            },
            "BMS": lambda: shrout_fleiss().between,
            "WMS": lambda: shrout_fleiss().within,
            "JMS": lambda: shrout_fleiss().raters_mean_square,
            "EMS": lambda: shrout_fleiss().residual,
        },
    ),
    *(
        Case(
            SHROUT_FLEISS["title"],
            SHROUT_FLEISS["source"],
            f"{form} 95 % {side}",
            "COMPUTED",
            (lambda form=form, side=side: end(form, side)),
            oracle=SHROUT_FLEISS["ci95"][form][place],
        )
        for form in ("ICC1", "ICC2", "ICC3")
        for place, side in enumerate(("low", "high"))
    ),
    *two_raters(
        "Two psychiatrists, 3 diagnoses, 100 patients",
        "Fleiss, Levin & Paik, Statistical Methods for Rates and Proportions, table 18.1",
        [[75, 1, 4], [5, 4, 1], [0, 0, 10]],
        kappa=(0.68, 2),
        null_standard_error=(0.076, 3),
    ),
    *two_raters(
        "Multiple sclerosis, Winnipeg patients, 4 certainties",
        "Landis & Koch 1977, Biometrics 33:159-174; R vcd",
        [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]],
        kappa=(0.2079, 4),
        standard_error=(0.05046, 5),
        linear=(0.3797, 4),
        linear_error=(0.05167, 5),
    ),
    *two_raters(
        "Multiple sclerosis, New Orleans patients, 4 certainties",
        "Landis & Koch 1977, Biometrics 33:159-174; R vcd",
        [[5, 3, 0, 0], [3, 11, 4, 0], [2, 13, 3, 4], [1, 2, 4, 14]],
        kappa=(0.2965, 4),
        standard_error=(0.0785, 4),
        linear=(0.4773, 4),
        linear_error=(0.0730, 4),
    ),
    *two_raters(
        "91 couples, 4 grades",
        "Agresti 1990, Categorical Data Analysis, table 2.10; R vcd",
        [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]],
        kappa=(0.1293, 4),
        standard_error=(0.0686, 4),
        linear=(0.2374, 4),
        linear_error=(0.0783, 4),
        quadratic=(0.3320, 4),
        quadratic_error=(0.0973, 4),
    ),
    *two_raters(
        "Two pathologists, 118 slides, 4 grades",
        "Agresti, Categorical Data Analysis, 2nd ed., 10.5",
        [[22, 2, 2, 0], [5, 7, 14, 0], [0, 2, 36, 0], [0, 1, 17, 10]],
        kappa=(0.493, 3),
        standard_error=(0.057, 3),
    ),
    *two_raters(
        "Two film critics, 160 films",
        "Agresti & Winner 1997, Chance 10:10-14",
        [[24, 8, 13], [8, 13, 11], [10, 9, 64]],
        kappa=(0.389, 3),
        standard_error=(0.060, 3),
    ),
    *two_raters(
        "Two radiologists, 85 xeromammograms",
        "Altman 1991, Practical Statistics for Medical Research, 14.3",
        [[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]],
        kappa=(0.47, 2),
        linear=(0.57, 2),
    ),
    *two_raters(
        "Balanced totals, 85 % agreement",
        "Feinstein & Cicchetti 1990, J Clin Epidemiol 43:543-549",
        [[40, 9], [6, 45]],
        kappa=(0.70, 2),
        pabak=(0.70, 2),
    ),
    *two_raters(
        "Unequal totals, 85 % agreement",
        "Feinstein & Cicchetti 1990, J Clin Epidemiol 43:543-549",
        [[80, 10], [5, 5]],
        kappa=(0.32, 2),
        pabak=(0.70, 2),
    ),
    *two_raters(
        "Two clinicians, 39 patients",
        "Sim & Wright 2005, Phys Ther 85:257-268",
        [[22, 2], [4, 11]],
        kappa=(0.67, 2),
        maximum=(0.89, 2),
        prevalence_index=(0.28, 2),
        bias_index=(0.05, 2),
    ),
    *remembered(
        "A rare category: 118, 5, 2, 0",
        "Gwet 2008, Br J Math Stat Psychol 61:29-48",
        [
            ("AC1", lambda: known(gwet_ac1(RARE)).value, 0.9408, 4),
            ("kappa", lambda: cohen([[118, 5], [2, 0]]).value, -0.0234, 4),
        ],
    ),
    *remembered(
        "4 raters x 12 units with missing ratings",
        "Gwet 2014, Handbook of Inter-Rater Reliability; R irrCAC",
        [
            ("AC1", lambda: known(gwet_ac1(four_by_twelve())).value, 0.77544, 5),
            (
                "AC1 standard error",
                lambda: known(gwet_ac1(four_by_twelve())).standard_error,
                0.14295,
                5,
            ),
            (
                "AC1 expected agreement",
                lambda: known(gwet_ac1(four_by_twelve())).expected,
                0.1903212,
                7,
            ),
            ("Fleiss kappa", lambda: _fleiss_four().value, 0.76117, 5),
            ("Fleiss kappa standard error", lambda: _fleiss_four().standard_error, 0.15302, 5),
            (
                "Brennan-Prediger",
                lambda: known(brennan_prediger(four_by_twelve())).value,
                0.77273,
                5,
            ),
            (
                "Brennan-Prediger standard error",
                lambda: known(brennan_prediger(four_by_twelve())).standard_error,
                0.14472,
                5,
            ),
        ],
    ),
    *remembered(
        "10 units x 14 raters x 5 categories",
        "widely taught example of Fleiss' kappa",
        [
            ("kappa", lambda: ten().total.value, 0.210, 3),
            ("P_bar", lambda: ten().total.observed, 0.378, 3),
            ("P_e", lambda: ten().total.expected, 0.213, 3),
        ],
    ),
    *remembered(
        "30 patients x 6 psychiatrists, 5 diagnoses",
        "R irr",
        [("z under guessing", lambda: fleiss().z or 0.0, 17.7, 1)],
    ),
    *remembered(
        "Two observers x 10 articles, 2 values",
        "Krippendorff 2011, section A",
        [
            (
                "nominal",
                lambda: alpha([[0, 1, 0, 0, 0, 0, 0, 0, 1, 0], [1, 1, 1, 0, 0, 1, 0, 0, 0, 0]]),
                0.095,
                3,
            )
        ],
    ),
    *remembered(
        "Two observers x 12 units, 5 values",
        "Krippendorff 2011, section B",
        [("nominal", lambda: alpha([list("aabbdcccedda"), list("babbbccceddd")]), 0.692, 3)],
    ),
    *remembered(
        "20 of 25 hits, 10 of 25 false alarms",
        "Macmillan & Creelman 2005, Detection Theory, chapters 1-2",
        [
            ("d'", lambda: value_of(yes_no(20, 5, 10, 15).d_prime), 1.095, 3),
            ("c", lambda: value_of(yes_no(20, 5, 10, 15).criterion), -0.294, 3),
        ],
    ),
    *remembered(
        "Rates of 0.99 and 0.01",
        "Macmillan & Creelman 2005, Detection Theory, chapter 1",
        [("d'", lambda: value_of(yes_no(99, 1, 1, 99).d_prime), 4.65, 2)],
    ),
]


def _fleiss_four() -> Coefficient:
    found = fleiss_kappa(four_by_twelve())
    assert isinstance(found, FleissKappa)
    return found.total
