"""Tables of right and wrong answers: read whole, or refused with the place named."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from scoring.evidence import DataError
from scoring.measurement.right_wrong import (
    answers,
    answers_from_long,
    forms_of,
    islands,
    right_wrong,
    strong_parts,
    usable,
)


def test_reads_missing_answers_in_every_shape() -> None:
    table = answers([[1, None, 0], [True, np.nan, 1]])
    assert table.given.tolist() == [[1, 0, 1], [1, 0, 1]]
    assert table.right.tolist() == [[1, 0, 0], [1, 0, 1]]
    assert table.items == (1, 2, 3)
    assert table.n == 2


def test_a_frame_brings_its_names_and_the_long_form_is_the_same_table() -> None:
    frame = pd.DataFrame({"a": [1, 0], "b": [np.nan, 1]}, index=["OP-1", "OP-2"])
    wide = answers(frame)
    long = answers_from_long(["OP-2", "OP-1", "OP-2"], ["b", "a", "a"], [1, 1, 0])
    assert wide.items == long.items == ("a", "b")
    assert wide.persons == long.persons == ("OP-1", "OP-2")
    assert np.array_equal(wide.given, long.given)
    assert np.array_equal(wide.right, long.right)


@pytest.mark.parametrize(
    ("table", "more", "said"),
    [
        ([[1, 2]], {}, "row 0, item 2: found 2.0"),
        ([[1, 0.5]], {}, "0, 1 or missing"),
        ([[1, float("inf")]], {}, "0, 1 or missing"),
        ([1, 0], {}, "1 dimensions"),
        ([["yes", "no"]], {}, "found 'yes'"),
        ([[1, 0]], {"items": ["a", "a"]}, "each once"),
        ([[1, 0]], {"items": ["a"]}, "2 names"),
        ([[1, 0]], {"counts": [-1]}, "0 and more"),
        ([[1, 0]], {"counts": [1, 1]}, "1 numbers"),
    ],
)
def test_refuses_what_is_no_answer(table: list, more: dict, said: str) -> None:
    with pytest.raises(DataError, match=said):
        answers(table, **more)


def test_refuses_an_answer_given_twice_and_unequal_lengths() -> None:
    with pytest.raises(DataError, match="one answer of a person"):
        answers_from_long(["p", "p"], ["a", "a"], [1, 0])
    with pytest.raises(DataError, match="as many of each"):
        answers_from_long(["p"], ["a", "b"], [1, 0])
    with pytest.raises(DataError, match="neither beside it"):
        answers(answers([[1, 0]]), items=["a", "b"])


def test_partial_credit_is_right_from_the_threshold_on() -> None:
    assert right_wrong([1, 0.99, 0]).tolist() == [1, 0, 0]
    assert right_wrong([1, 3, 4], threshold=3).tolist() == [0, 1, 1]
    assert np.isnan(right_wrong([np.nan])).all()
    with pytest.raises(DataError):
        right_wrong([np.inf])


def test_items_that_tell_nothing_are_left_out_with_the_reason() -> None:
    kept, dropped, rows = usable(answers([[1, 0, 1, None], [1, 0, 0, None], [1, 0, None, None]]))
    assert kept.items == (3,)
    assert rows.tolist() == [0, 1]
    assert "easier" in dropped[1].said
    assert "harder" in dropped[2].said
    assert "Nobody" in dropped[4].said


def test_forms_and_the_items_that_nobody_ties_together() -> None:
    n = None
    apart = answers([[1, 0, n, n], [0, 1, n, n], [n, n, 1, 0], [n, n, 0, 1]])
    assert islands(apart) == [[1, 2], [3, 4]]
    assert islands(apart, ["one"] * 4) == [[1, 2, 3, 4]]
    assert islands(apart, ["one", "one", "two", "two"]) == [[1, 2], [3, 4]]
    forms, form = forms_of(apart.given)
    assert len(forms) == 2
    assert np.array_equal(forms[form], apart.given)


def test_items_must_be_compared_both_ways() -> None:
    assert len(strong_parts(answers([[1, 0], [1, 0]]))) == 2
    assert len(strong_parts(answers([[1, 0], [0, 1]]))) == 1
