"""Newcombe RG (1998), Stat Med 17:857-872, Table I: four worked proportions.

Status of the table: read in public test material that quotes it, not in the paper;
``comp_lo`` and ``comp_hi`` were computed independently and carry more digits.
"""

from __future__ import annotations

import csv
import math
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.variation.intervals import wilson

TABLE = Path(__file__).parents[2] / "data" / "published" / "cc_binomial_intervals_newcombe1998.csv"
ROWS = [
    row
    for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())
    if row["method"] == "Wilson"
]


def test_the_table_holds_four_cases() -> None:
    assert len(ROWS) == 4


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['x']}/{row['n']}")
def test_agrees_with_newcombe(row: dict[str, str]) -> None:
    found = wilson(int(row["x"]), int(row["n"]), float(row["conf"]))
    assert found.low == pytest.approx(float(row["comp_lo"]), abs=1e-12)
    assert found.high == pytest.approx(float(row["comp_hi"]), abs=1e-12)
    # The printed table has four places; 0/20 is printed 0.1611 for 0.16113.
    assert found.low == pytest.approx(float(row["pub_lo"]), abs=6e-5)
    assert found.high == pytest.approx(float(row["pub_hi"]), abs=6e-5)


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_ends_stay_in_order_and_on_the_scale(pair: tuple[int, int]) -> None:
    found = wilson(*pair)
    assert 0 <= found.low <= found.estimate <= found.high <= 1
    assert found.low < found.high


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_failures_mirror_successes(pair: tuple[int, int]) -> None:
    count, n = pair
    one, other = wilson(count, n), wilson(n - count, n)
    assert one.low == pytest.approx(1 - other.high, abs=1e-12)


@pytest.mark.parametrize(
    ("count", "n", "confidence"),
    [(1, 0, 0.95), (-1, 5, 0.95), (6, 5, 0.95), (math.nan, 5, 0.95), (1, math.inf, 0.95),
     (1, 5, 1.0), (1, 5, math.nan)],
)  # fmt: skip
def test_a_value_off_its_range_is_refused(count: float, n: float, confidence: float) -> None:
    with pytest.raises(ValueError, match=r"wanted|finite"):
        wilson(count, n, confidence)


def test_wilson_brings_no_heavy_library() -> None:
    code = (
        "import sys, scoring.variation.intervals;"
        "print(sorted({'numpy', 'scipy', 'pandas', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        cwd=Path(__file__).parents[3],
    )  # fmt: skip
    assert done.stdout.strip() == "[]"
