"""Methods side by side: who passes, who changes side, whose result depends on the method."""

from __future__ import annotations

import pytest

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.standard_setting import side_by_side


def test_consequences_by_hand() -> None:
    found = side_by_side(
        [50, 60, float("nan"), 70, 0.1 + 0.2],
        {
            "judges": Estimate(60, 55, 65, 8),
            "line": 70,
            "low": 0.3,
            "none": TooLittleEvidence("persons", "Nobody was rated.", 0),
        },
        persons=["a", "b", "c", "d", "e"],
    )
    judges, line, low, none = found.consequences
    assert judges.passing == ("b", "d")
    assert isinstance(judges.share, Estimate)
    assert (judges.share.value, judges.share.n) == (0.5, 4)
    assert judges.share_over_cut == (0.25, 0.5)
    assert line.passing == ("d",)
    assert low.passing == ("a", "b", "d", "e")
    assert none.passing == ()
    assert isinstance(none.share, TooLittleEvidence)
    moved = {(one.lower, one.higher): one.persons for one in found.changes}
    assert moved == {
        ("judges", "line"): ("b",),
        ("low", "judges"): ("a", "e"),
        ("low", "line"): ("a", "b", "e"),
    }
    assert found.undecided == ("a", "b", "e")
    assert found.n == 4


def test_nobody_and_no_method() -> None:
    empty = side_by_side([], {"one": Estimate(5, 4, 6, 3)})
    assert isinstance(empty.consequences[0].share, TooLittleEvidence)
    assert side_by_side([1, 2], {}).undecided == ()
    with pytest.raises(DataError):
        side_by_side([1], {"one": float("nan")})
    with pytest.raises(DataError):
        side_by_side([1, 2], {}, persons=["a", "a"])
