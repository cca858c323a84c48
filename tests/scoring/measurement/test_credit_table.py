"""The layout of credits: the three ways in agree, and what is wrong is named."""

from __future__ import annotations

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
import pytest

from scoring.evidence import DataError
from scoring.measurement.credit_table import credit_table, credit_table_from_long, numbers


def test_wide_long_and_pandas_are_the_same_table() -> None:
    wide = credit_table(np.array([[1, 0, None], [0.5, np.nan, 1]], dtype=object))
    frame = credit_table(pd.DataFrame([[1, 0, None], [0.5, np.nan, 1]], columns=[1, 2, 3]))
    long = credit_table_from_long([2, 1, 2, 1, 1], [3, 1, 1, 3, 2], [1, 1, 0.5, None, 0])
    for other in (frame, long):
        np.testing.assert_array_equal(other.credit, wide.credit)
        assert other.items == wide.items
    assert long.persons == (1, 2)


def test_counts_repeat_the_row() -> None:
    table = credit_table([[1, 0], [1, 1]], counts=[2, 3])
    assert table.credit.shape == (5, 2)
    assert table.credit.sum() == 8


@pytest.mark.parametrize(
    "given",
    [[1, 2, 3], [["a"]], [[np.inf]], [[1], [1, 2]], pd.DataFrame([[1, 2]], columns=["a", "a"])],
)
def test_what_is_no_table_is_refused(given: object) -> None:
    with pytest.raises(DataError):
        credit_table(given)  # type: ignore[arg-type]


@pytest.mark.parametrize("counts", [[1], [-1, 2], [0.5, 1], [np.nan, 1]])
def test_counts_that_do_not_fit_are_refused(counts: list[float]) -> None:
    with pytest.raises(DataError):
        credit_table([[1, 0], [0, 1]], counts=counts)


def test_a_second_credit_for_one_item_is_refused() -> None:
    with pytest.raises(DataError, match="line 3"):
        credit_table_from_long(["a", "b", "a"], [1, 1, 1], [1, 0, 0])
    with pytest.raises(DataError):
        credit_table_from_long(["a"], [1, 2], [1])


def test_a_missing_number_is_refused_where_none_may_be() -> None:
    with pytest.raises(DataError, match="score 2"):
        numbers([1, np.nan], "score")
