"""Items, reliability, decisions and cuts of an exam."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from scoring.evidence import Estimate
from scoring.measurement.angoff import AngoffCut, angoff
from scoring.measurement.borderline import BorderlineRegression, borderline_regression
from scoring.measurement.credit_table import CreditTable, credit_table
from scoring.measurement.decision_figures import DecisionFigures, decision_figures
from scoring.measurement.form_length import lengthening_needed, spearman_brown
from scoring.measurement.hofstee import HofsteeCut, hofstee
from scoring.measurement.items import ItemFigures, item_analysis
from scoring.measurement.measurement_error import standard_error_of_measurement, true_score
from scoring.measurement.reliability import cronbach_alpha, kr20, kr21
from scoring.measurement.true_score_beta import TrueScoreBeta, effective_test_length
from tests.published.case import Case, block, cases, rows

FILE = "exam_reliability_irt_gtheory"


def number(found: object) -> float:
    """Return the figure of an answer; NaN, which agrees with nothing, where there is none."""
    if isinstance(found, Estimate):
        return found.value
    return float(found) if isinstance(found, int | float) else math.nan


def lsat() -> CreditTable:
    """Return the 1,000 answers to five items."""
    held = rows("ex_LSAT6_patterns.csv")
    return credit_table(
        [[int(row[f"i{item}"]) for item in range(1, 6)] for row in held],
        counts=[int(row["freq"]) for row in held],
    )


def _items() -> list[ItemFigures]:
    return item_analysis(lsat())


def _item(at: int) -> dict[str, Callable[[], float]]:
    return {
        f"p{at + 1}": lambda: number(_items()[at].difficulty),
        f"point-biserial incl. item {at + 1}": lambda: number(_items()[at].item_total),
        f"corrected point-biserial item {at + 1}": lambda: number(_items()[at].discrimination),
    }


def _lsat() -> list[Case]:
    computed: dict[str, Callable[[], float]] = {
        "KR-20/alpha": lambda: number(kr20(lsat())),
        "alpha psych": lambda: number(cronbach_alpha(lsat())),
    }
    for at in range(5):
        computed |= _item(at)
    held = block(FILE, "LSAT6")["values"]
    digits = "remembered digits; the independent program differs in the fourth decimal too"
    return cases(
        FILE,
        "LSAT6",
        computed,
        relative=1e-9,
        misprints={
            value["quantity"]: digits
            for value in held
            if value["quantity"] in computed and not value["agrees_to_printed_digits"]
        },
        # The Rasch and two-parameter figures are item response theory, with cases of their own.
        elsewhere=[value["quantity"] for value in held if value["quantity"] not in computed],
    )


def _decisions() -> list[Case]:
    given = block(FILE, "livingston_lewis_param")["data"]
    truth = TrueScoreBeta(given["l"], given["u"], given["alpha"], given["beta"])

    def figures() -> DecisionFigures:
        return decision_figures(truth, given["n_eff"], given["cut"])

    return cases(
        FILE,
        "livingston_lewis_param",
        {
            "accuracy": lambda: figures().accuracy,
            "consistency p": lambda: figures().consistency,
            "chance p_c": lambda: figures().chance,
            "kappa": lambda: figures().kappa,
            "effective test length mean=50 var=100 min0 max100 rel=.7": lambda: (
                effective_test_length(
                    mean=50, variance=100, minimum=0, maximum=100, reliability=0.7
                )
            ),
        },
    )


def _constructed(quantity: str, oracle: float, compute: Callable[[], float]) -> Case:
    held = block(FILE, "standard_setting_constructed")
    return Case(held["title"], held["source"], quantity, "CONSTRUCTED", compute, oracle=oracle)


def _cuts() -> list[Case]:
    held: dict[str, Any] = block(FILE, "standard_setting_constructed")
    judged, line, compromise = held["angoff"], held["borderline_regression"], held["hofstee"]

    def panel() -> AngoffCut:
        return angoff(judged["ratings_judges_x_items"])

    def regression(take: Callable[[BorderlineRegression], float]) -> float:
        found = borderline_regression(
            line["global_rating"], line["checklist"], borderline=line["borderline_grade"]
        )
        return take(found) if isinstance(found, BorderlineRegression) else math.nan

    def meeting() -> HofsteeCut:
        ends = (compromise[name] for name in ("cmin", "cmax", "fmin", "fmax"))
        return hofstee(compromise["scores"], *ends, samples=0)

    def judge(at: int) -> float:
        return panel().judge_totals[at]

    found = [
        _constructed("Angoff cut", judged["cut_raw"], lambda: number(panel().cut)),
        _constructed("Angoff cut, %", judged["cut_pct"], lambda: number(panel().percent)),
        _constructed("SE over judges", judged["SE_judges"], lambda: number(panel().se_judges)),
        _constructed("slope", line["slope"], lambda: regression(lambda at: at.slope.value)),
        _constructed(
            "intercept", line["intercept"], lambda: regression(lambda at: at.intercept.value)
        ),
        _constructed("borderline cut", line["cut"], lambda: regression(lambda at: at.cut.value)),
        # The file's cut was sought on a grid of 0.001; the tolerance is wider than that.
        _constructed("Hofstee cut", compromise["cut"], lambda: number(meeting().cut)),
        _constructed(
            "Hofstee line", compromise["line_at_cut"], lambda: number(meeting().line_at_cut)
        ),
    ]
    for at, total in enumerate(judged["judge_totals"]):
        found.append(_constructed(f"judge {at + 1}", total, partial(judge, at)))
    return found


def _memory(quantity: str, printed: float, digits: int, compute: Callable[[], float]) -> Case:
    return Case(
        "Textbook sums", "any textbook of tests", quantity, "from memory", compute, printed, digits
    )


CASES: list[Case] = [
    *_lsat(),
    *_decisions(),
    *_cuts(),
    _memory("SD 15, reliability .91: SEM", 4.5, 2, lambda: standard_error_of_measurement(15, 0.91)),
    _memory("reliability .50 doubled", 0.667, 3, lambda: spearman_brown(0.5, 2)),
    _memory("from .70 to .90: length", 3.857, 3, lambda: number(lengthening_needed(0.7, 0.9))),
    _memory(
        "50 items, mean 40, SD 4: KR-21",
        0.51,
        2,
        lambda: number(kr21(items=50, mean=40, variance=16)),
    ),
    _memory(
        "Kelley: 130, reliability .9, mean 100",
        127.0,
        1,
        lambda: true_score(130, 0.9, mean=100, sd=15).value,
    ),
]
