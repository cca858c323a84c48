"""The table of constants and the BENCH_README agree, and every constant says where it is from."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

import scoring
from scoring.bench.constants import Constant, assumed
from scoring.bench.table import EFFECTS, with_table
from scoring.readme_part import BENCH_README

FACTS = Path(scoring.__file__).parent / "catalogue" / "facts.csv"


def test_the_readme_holds_the_table_of_the_code() -> None:
    readme = BENCH_README.read_text(encoding="utf-8")
    assert with_table(readme) == readme, "run: python -m scoring.bench.table"


def test_a_readme_without_its_marks_is_refused() -> None:
    with pytest.raises(ValueError, match="table of constants"):
        with_table("# The bench\n")


def test_every_constant_says_where_it_is_from() -> None:
    with FACTS.open(encoding="utf-8", newline="") as lines:
        known = {row["id"] for row in csv.DictReader(lines)}
    everywhere = [constant.name for constants in EFFECTS.values() for constant in constants]
    assert len(everywhere) == len(set(everywhere)), "a what-if varies a constant by its name"
    for effect, constants in EFFECTS.items():
        names = [constant.name for constant in constants]
        assert len(names) == len(set(names)), effect
        for constant in constants:
            assert constant.source, constant.name
            assert constant.unit, constant.name
            named = set(re.findall(r"\b[BCEHKLORTVW][0-9]{1,2}n?\b", constant.source))
            assert named <= known, constant.name
            if constant.status in ("read", "calculated"):
                assert named, constant.name


def test_a_constant_outside_its_own_range_is_refused() -> None:
    with pytest.raises(ValueError, match="outside"):
        Constant("rate", 2.0, "1/min", 0.0, 1.0, "B5", "calculated")
    with pytest.raises(ValueError, match="outside"):
        assumed("rate", -1.0, "1/min", 0.0, 1.0, "none")
