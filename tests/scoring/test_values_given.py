"""What is a number, what is missing, and what is refused: the same for every statistic."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from scoring.evidence import DataError, TooLittleEvidence, check_confidence, counted
from scoring.measurement.fleiss import conger_kappa
from scoring.measurement.gwet import gwet_ac1
from scoring.measurement.intraclass import intraclass
from scoring.measurement.krippendorff_alpha import krippendorff_alpha
from scoring.measurement.rasch import rasch
from scoring.measurement.reliability import cronbach_alpha
from scoring.values_given import is_missing, labels_given, numbers_given, unmasked
from scoring.variation.balanced import one_way
from scoring.variation.balanced_components import crossed_components
from scoring.variation.binomial import fit_binomial
from scoring.variation.chance_limits import chance_limits
from scoring.variation.components import variance_components
from scoring.variation.consistency import consistency
from scoring.variation.control_charts import control_chart
from scoring.variation.false_discovery import flag
from scoring.variation.gauge import gauge_anova, gauge_ranges
from scoring.variation.precision import precision


@pytest.mark.parametrize(
    "values",
    [
        [1, None, 3],
        [1.0, float("nan"), 3.0],
        ["1", "", "3"],
        (value for value in (1, None, 3)),
        np.ma.masked_array([1, 2, 3], mask=[0, 1, 0]),
        np.array([1, None, 3], dtype=object),
        pd.Series([1, None, 3], index=[9, 8, 7]),
        pd.Series([1, pd.NA, 3], dtype="Int64"),
        pd.Series([1, None, 3], dtype="category"),
        np.array([1, np.nan, 3], dtype=np.float32),
    ],
)
def test_every_layout_is_the_same_numbers(values: Any) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        np.testing.assert_array_equal(numbers_given(values, "here"), [1.0, np.nan, 3.0])


@pytest.mark.parametrize(
    ("values", "found"),
    [
        (["1", "one"], "'one'"),
        ("hello", "'hello'"),
        ([[1, 2], [3]], "rows of different lengths"),
        (np.array(["2031-05-01"], dtype="datetime64[ns]"), "dates or times"),
        (np.array([3], dtype="timedelta64[s]"), "dates or times"),
        ([date(2031, 5, 1)], "datetime.date"),
        ([1 + 1j], "1j"),
        ({"a": 1}, "'a'"),
    ],
)
def test_what_is_no_number_is_named(values: Any, found: str) -> None:
    with pytest.raises(DataError, match="here: found") as told:
        numbers_given(values, "here")
    assert found in str(told.value)


def test_labels_are_one_word_or_number_each() -> None:
    assert labels_given(np.array(["a", "b"]), "rater") == ["a", "b"]
    assert labels_given((k for k in (1, 2)), "rater") == [1, 2]
    for wrong in (None, 7, "ab", ["a", None], ["a", float("nan")], [["a"], ["b"]]):
        with pytest.raises(DataError, match="rater"):
            labels_given(wrong, "rater")


def test_missing_values_of_every_kind() -> None:
    for missing in (None, float("nan"), "", np.float32("nan"), pd.NA, pd.NaT, np.ma.masked):
        assert is_missing(missing)
    for there in (0, "0", False, 0.0, "nan", np.zeros(2)):
        assert not is_missing(there)
    assert unmasked([1, 2]) == [1, 2]


RATINGS = np.random.default_rng(5).integers(1, 4, size=(20, 4)).astype(float)
HIDDEN = np.arange(RATINGS.size).reshape(RATINGS.shape) % 7 == 0


@pytest.mark.parametrize(
    "compute",
    [
        lambda table: gwet_ac1(table),
        lambda table: conger_kappa(table),
        lambda table: krippendorff_alpha(table, "interval"),
        lambda table: intraclass(table, missing="drop"),
        lambda table: cronbach_alpha(table),
        lambda table: rasch((table - 1) // 2),
    ],
)
def test_what_is_masked_is_missing_and_not_silently_read(
    compute: Callable[[Any], object],
) -> None:
    hidden = np.ma.masked_array(RATINGS, mask=HIDDEN)
    assert repr(compute(hidden)) == repr(compute(np.where(HIDDEN, np.nan, RATINGS)))
    assert repr(compute(hidden)) != repr(compute(RATINGS))


DAYS = np.full(24, np.datetime64("2031-05-01"))
GROUPS = np.repeat(["a", "b", "c"], 8)


@pytest.mark.parametrize(
    "compute",
    [
        lambda: one_way(DAYS, GROUPS),  # type: ignore[arg-type]
        lambda: variance_components(DAYS, {"operator": GROUPS}),
        lambda: fit_binomial(DAYS, groups={"operator": GROUPS}),
        lambda: control_chart(DAYS, form="c"),
        lambda: cronbach_alpha(np.tile(DAYS, (3, 1)).T),
    ],
)
def test_dates_are_not_counted_as_days(compute: Callable[[], object]) -> None:
    with pytest.raises(DataError, match="dates or times"):
        compute()


MEASURED = np.random.default_rng(2).normal(10, 1, 24)


@pytest.mark.parametrize("compute", [one_way, precision, consistency])
def test_a_generator_is_read_once_and_whole(compute: Callable[..., object]) -> None:
    once = compute((value for value in MEASURED), (label for label in GROUPS))
    assert not isinstance(once, TooLittleEvidence)
    assert repr(once) == repr(compute(MEASURED, GROUPS.tolist()))
    by_index = pd.Series(GROUPS, index=np.arange(24)[::-1])
    assert repr(once) == repr(compute(pd.Series(MEASURED), by_index))


def test_p_values_of_a_generator_are_all_flagged() -> None:
    values = [0.001, 0.5, 0.02, 0.9]
    assert flag(value for value in values) == flag(values)


@pytest.mark.parametrize("compute", [gauge_anova, gauge_ranges])
def test_a_gauge_study_reads_a_generator(compute: Callable[[Any], object]) -> None:
    cells = MEASURED.reshape(4, 3, 2)
    assert repr(compute(part for part in cells)) == repr(compute(cells))


@pytest.mark.parametrize(
    "compute",
    [
        lambda: variance_components(MEASURED, {"operator": GROUPS[:, None]}),
        lambda: fit_binomial(MEASURED > 10, groups={"operator": GROUPS[:, None]}),
        lambda: crossed_components(MEASURED.reshape(4, 3, 2), ["part", None]),  # type: ignore[list-item]
        lambda: chance_limits([10, 12.5], 0.2),
        lambda: chance_limits([10, 0], 0.2),
        lambda: chance_limits([1e300], 0.2),
        lambda: chance_limits([10, None], 0.2),
    ],
)
def test_faults_have_a_place(compute: Callable[[], object]) -> None:
    with pytest.raises(DataError, match="found"):
        compute()


def test_one_and_many() -> None:
    assert [counted(n, "person", "people") for n in (0, 1, 2)] == [
        "0 people", "1 person", "2 people",
    ]  # fmt: skip
    assert counted(1, "item") + counted(3, "item") == "1 item3 items"
    for wrong in (0, 1, -0.5, 95, float("nan"), "0.95", None):
        with pytest.raises(ValueError, match="confidence"):
            check_confidence(wrong)  # type: ignore[arg-type]
    check_confidence(np.float32(0.9))
