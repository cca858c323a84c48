"""Item response examples: the five items of section 6 of the law school admission test."""

from __future__ import annotations

from functools import cache

import numpy as np

from scoring.evidence import TooLittleEvidence
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_conditional import ConditionalFit, rasch_conditional
from scoring.measurement.right_wrong import Answers, answers
from scoring.measurement.two_parameter import TwoParameterFit, two_parameter
from tests.published.case import Case, block, cases, rows

FILE, NAME = "exam_reliability_irt_gtheory", "LSAT6"

ITEMS = range(1, 6)


@cache
def lsat6() -> Answers:
    """Return the answers of 1,000 persons, by pattern."""
    held = rows("ex_LSAT6_patterns.csv")
    table = [[int(row[f"i{item}"]) for item in ITEMS] for row in held]
    return answers(table, counts=[int(row["freq"]) for row in held])


@cache
def one() -> RaschFit:
    found = rasch(lsat6())
    assert not isinstance(found, TooLittleEvidence)
    return found


@cache
def two() -> TwoParameterFit:
    found = two_parameter(lsat6())
    assert not isinstance(found, TooLittleEvidence)
    return found


@cache
def conditional() -> ConditionalFit:
    found = rasch_conditional(lsat6())
    assert not isinstance(found, TooLittleEvidence)
    return found


NOT_AT_THE_MAXIMUM = (
    "the printed values are not where the likelihood is highest: at them it is 1e-5 lower, "
    "so the older program stopped a little early (a test shows it)"
)

# Classical item statistics belong to the classical analysis of items.
CLASSICAL = [
    "KR-20/alpha",
    "alpha psych",
    *(f"p{item}" for item in ITEMS),
    *(f"point-biserial incl. item {item}" for item in ITEMS),
    *(f"corrected point-biserial item {item}" for item in ITEMS),
]

CASES: list[Case] = [
    *cases(
        FILE,
        NAME,
        {
            **{
                f"Rasch b{item}": lambda at=item - 1: float(one().standardised_difficulty[at])
                for item in ITEMS
            },
            "Rasch common a (=theta SD)": lambda: one().discrimination,
            "Rasch logLik": lambda: one().log_likelihood,
            **{f"2PL b{item}": lambda at=item - 1: float(two().difficulty[at]) for item in ITEMS},
            **{
                f"2PL a{item}": lambda at=item - 1: float(two().discrimination[at])
                for item in ITEMS
            },
            "2PL logLik": lambda: two().log_likelihood,
            **{
                f"CML easiness item {item} (sum 0, eRm)": lambda at=item - 1: float(
                    -conditional().difficulty[at]
                )
                for item in ITEMS
            },
            "CML conditional logLik": lambda: conditional().log_likelihood,
        },
        relative=1e-5,
        misprints={f"2PL {letter}{item}": NOT_AT_THE_MAXIMUM for letter in "ab" for item in ITEMS},
        elsewhere=CLASSICAL,
    ),
    *(
        Case(
            example=block(FILE, NAME)["title"],
            source=block(FILE, NAME)["source"],
            quantity=f"CML standard error of item {item}",
            status="COMPUTED",
            compute=lambda at=item - 1: float(conditional().standard_error[at]),
            oracle=float(np.asarray(block(FILE, NAME)["CML_se"])[item - 1]),
            relative=1e-4,
        )
        for item in ITEMS
    ),
]
