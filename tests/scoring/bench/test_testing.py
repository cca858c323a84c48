"""What residue tests would and would not tell, against what was published."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import scoring
from scoring.bench.arrays import ARRAYS
from scoring.bench.testing import (
    ACTION,
    ALERT,
    Analyte,
    ColourTest,
    band,
    chance_of_colour,
    chance_of_missing,
    least_and_most_missed,
    swab_ug,
)

FACTS = Path(scoring.__file__).parent / "catalogue" / "facts.csv"
NOTHING = {"fresh": 0.0, "dried": 0.0, "fixed": 0.0}
TESTS: tuple[ColourTest, ...] = ("ninhydrin", "biuret")


@pytest.mark.parametrize(("test", "ug"), [("ninhydrin", 9.25), ("biuret", 6.7)])
def test_three_quarters_of_people_see_the_published_amount(test: ColourTest, ug: float) -> None:
    # Lipscomb et al. 2006 (E1, read): 9.25 ug (8.6 to 10.0) and 6.7 ug (5.4 to 8.2).
    assert chance_of_colour(test, ug) == pytest.approx(0.75, abs=1e-12)


@pytest.mark.parametrize("test", TESTS)
def test_neither_test_shows_the_limit_of_5_ug(test: ColourTest) -> None:
    # E1 (read) draws this conclusion; that it means less than one in four is an assumption.
    assert chance_of_colour(test, 5.0) < 0.25
    assert chance_of_colour(test, 0.0) < 1e-12
    assert chance_of_colour(test, 50.0) > 0.99


def test_the_swab_leaves_what_was_published() -> None:
    # E3 (read): of 50 ug, 32 % of the albumin and 61 % of the fibrinogen stayed.
    assert 50.0 - swab_ug({**NOTHING, "fresh": 50.0}) == pytest.approx(0.32 * 50.0)
    assert 50.0 - swab_ug({**NOTHING, "dried": 50.0}) == pytest.approx(0.61 * 50.0)
    assert swab_ug({**NOTHING, "fresh": 50.0}, share_swabbed=0.1) == pytest.approx(3.4)


def test_a_negative_test_can_hide_a_place_above_the_limit() -> None:
    # 4 ug/cm2 dried on a joint of 3.5 cm2: above the alert value, and nearly always missed.
    soil = {**NOTHING, "dried": 14.0}
    assert chance_of_missing("ninhydrin", soil, 3.5, 3.0) > 0.8
    assert chance_of_missing("ninhydrin", soil, 3.5, 5.0) == 0.0
    plenty = {**NOTHING, "dried": 400.0}
    assert chance_of_missing("ninhydrin", plenty, 3.5, 3.0) < 0.01
    assert chance_of_missing("ninhydrin", plenty, 3.5, 3.0, share_swabbed=0.03) > 0.9


@given(st.sampled_from(TESTS), st.floats(0, 100), st.floats(0, 100))
def test_more_on_the_swab_is_never_seen_less(test: ColourTest, ug: float, more: float) -> None:
    assert 0.0 <= chance_of_colour(test, ug) <= chance_of_colour(test, ug + more) <= 1.0


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 100), st.floats(0, 1))
def test_a_swab_brings_no_more_than_there_is(
    fresh: float, dried: float, fixed: float, share: float
) -> None:
    soil = {"fresh": fresh, "dried": dried, "fixed": fixed}
    assert 0.0 <= swab_ug(soil, share) <= fresh + dried + fixed


def test_arrays_equal_floats() -> None:
    ug = np.array([0.0, 1.0, 5.0, 9.25, 80.0])
    soil = {"fresh": ug, "dried": ug * 2, "fixed": ug * 0}
    together = chance_of_missing("biuret", soil, 3.0, 3.0, 0.5, ARRAYS)
    alone = [
        chance_of_missing("biuret", {"fresh": u, "dried": u * 2, "fixed": 0.0}, 3.0, 3.0, 0.5)
        for u in ug.tolist()
    ]
    assert together == pytest.approx(alone, rel=1e-12)


def test_the_bands_are_those_of_the_table_of_facts() -> None:
    with FACTS.open(encoding="utf-8", newline="") as lines:
        row = next(row for row in csv.DictReader(lines) if row["id"] == "L1")
    numbers = [float(one) for one in re.findall(r"[0-9.]+", row["values"])]
    assert row["status"] == "restated"
    analytes = get_args(Analyte)
    assert list(ALERT) == list(ACTION) == list(analytes)
    for analyte, alert, action in zip(analytes, numbers[::2], numbers[1::2], strict=True):
        assert (ALERT[analyte].standard, ACTION[analyte].standard) == (alert, action)
        assert band(analyte, alert * 0.999) == "below alert"
        assert band(analyte, alert) == band(analyte, action * 0.999) == "alert"
        assert band(analyte, action) == band(analyte, action * 50) == "action"


def test_protein_and_atp_must_have_disagreed_in_most_channels() -> None:
    # Pires Maciel et al. (C10, read): of 24 channels, protein in 8.3 % (2), ATP high in 17.
    assert round(24 * (1 - 0.917)) == 2
    assert least_and_most_missed(24, 17, 2) == (15, 17)
    assert least_and_most_missed(24, 2, 17) == (0, 2)
    with pytest.raises(ValueError, match="cannot find"):
        least_and_most_missed(24, 25, 2)
