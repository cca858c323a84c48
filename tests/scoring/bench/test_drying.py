"""Drying: three published findings that one curve cannot hold, and the one that is followed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench.arrays import ARRAYS
from scoring.bench.drying import hardness_by_finding
from scoring.catalogue import facts
from tests.scoring.bench.case import handled, played

MINUTES = [0.0, 30.0, 60.0, 90.0, 120.0, 240.0, 1440.0, 4320.0]


def test_the_findings_disagree_in_shape() -> None:
    curves = [hardness_by_finding(minutes) for minutes in MINUTES]
    b7, b8, b9 = ([curve[fact] for curve in curves] for fact in ("B7", "B8", "B9"))
    # Wulff et al. 2024 (B8, read): hardest in the first 1 to 2 h, not yet dry.
    assert 60 <= MINUTES[b8.index(max(b8))] <= 120
    assert b8[-1] < b8[3]
    # Secker et al. 2011 (B9, read): the longer it dried, the more it stuck.
    assert b9 == sorted(b9)
    # Hoover et al. 2023 (B7, read): after extended drying an alkaline cleaner alone restored.
    assert b7 == sorted(b7)
    assert b7[4] < 0.1 < 0.5 < b7[-1]
    assert set(curves[0]) <= facts().keys()


def test_the_bench_follows_the_one_that_it_says_it_follows() -> None:
    for minutes in MINUTES:
        done = played("clamp", handled(minutes=minutes), steps=("dry",))
        hard = 1 - done.soil["jaw_left"]["fresh"] / 300.0
        assert hard == pytest.approx(hardness_by_finding(minutes)["B9"], abs=1e-12)


@given(st.floats(0, 20000))
def test_each_is_a_share(minutes: float) -> None:
    for share in hardness_by_finding(minutes).values():
        assert 0 <= share <= 1


def test_many_at_once_are_as_one_by_one() -> None:
    together = hardness_by_finding(np.array(MINUTES), ARRAYS)
    for fact, curve in together.items():
        alone = [hardness_by_finding(minutes)[fact] for minutes in MINUTES]
        assert curve == pytest.approx(alone, rel=1e-12)
