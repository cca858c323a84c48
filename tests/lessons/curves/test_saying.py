"""The finding of a curve: what a trainer reads, and what stands for the picture."""

from __future__ import annotations

from typing import get_args

import numpy as np

from lessons.curves.saying import OUTCOME_NAMES, OVER_NAMES, amount, finding
from scoring.bench.outcomes import Outcome
from scoring.bench.response import Over, Response


def made(y: list[float], limit: float | None = 3.0) -> Response:
    x = np.array([0.0, 10.0, 20.0, 30.0])
    return Response("protein", "minutes", x, np.array(y), "min", "ug/cm2", (10.0, 20.0), limit)


def test_everything_has_a_name() -> None:
    assert set(OVER_NAMES) == set(get_args(Over))
    assert set(OUTCOME_NAMES) == set(get_args(Outcome))


def test_a_falling_curve_is_told_with_its_window_and_limit() -> None:
    assert finding(made([100.0, 2.0, 1.0, 0.5])) == (
        "Protein on the worst place goes from 100 µg/cm² at 0 min to 0.5 µg/cm² at 30 min "
        "(minutes in the bath). In this department's window, 10 min to 20 min, it is 1 µg/cm² to "
        "2 µg/cm². That is within the limit of 3 µg/cm²."
    )


def test_a_window_that_reaches_above_the_limit_is_told() -> None:
    said = finding(made([100.0, 5.0, 1.0, 0.5]))
    assert said.endswith("The limit is 3 µg/cm²: part of the window lies above it.")


def test_a_flat_curve_is_told_as_such() -> None:
    said = finding(made([2.0, 2.0, 2.0, 2.0], limit=None))
    assert said.startswith("Protein on the worst place does not depend on the minutes in the bath.")
    assert said.endswith("it is 2 µg/cm².")


def test_two_digits_are_enough() -> None:
    assert amount(123.4, "ug/cm2") == "120 µg/cm²"
    assert amount(0.0, "mg") == "0 mg"
    assert amount(0.0004, "mg") == "below 0.01 mg"
    assert amount(0.5, "1") == "0.5"
