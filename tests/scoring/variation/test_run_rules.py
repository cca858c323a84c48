"""Run rules: each pattern by a plain reading, false alarms by a chain and by simulation."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.evidence import DataError
from scoring.variation import rule_run_length
from scoring.variation.rule_run_length import run_rule_arl
from scoring.variation.run_rules import (
    BEYOND,
    EIGHT_IN_A_ROW,
    EIGHT_OUTSIDE,
    FIFTEEN_INSIDE,
    NELSON,
    RULE_SETS,
    WESTERN_ELECTRIC,
    Rule,
    run_rules,
)


def plainly(z: list[float], rule: Rule) -> list[int]:
    """Return where a rule is met, by reading it point by point."""
    met = []
    for at in range(len(z)):
        window = z[max(0, at - rule.window + 1) : at + 1]
        for sign in (1, -1):
            row = [sign * value for value in window]
            if rule.where == "beyond":
                fits = [value > rule.distance for value in row]
            elif rule.where == "inside":
                fits = [abs(value) <= rule.distance for value in row]
            elif rule.where == "outside":
                fits = [abs(value) > rule.distance for value in row]
            elif rule.where == "rising":
                fits = [len(row) == rule.window] * len(row)
                fits = [fits[0] and all(b > a for a, b in pairwise(row))]
                fits *= rule.window
            else:
                steps = [b - a for a, b in pairwise(row)]
                turns = all(step > 0 if place % 2 else step < 0 for place, step in enumerate(steps))
                fits = [len(row) == rule.window and turns] * rule.window
            if fits[-1] and sum(fits) >= rule.count:
                met.append(at)
                break
    return met


@pytest.mark.parametrize("rule", NELSON + WESTERN_ELECTRIC[3:], ids=lambda rule: rule.code)
@given(
    st.lists(st.sampled_from([-3.5, -2.2, -1.3, -0.4, 0.0, 0.3, 1.2, 2.4, 3.0, 3.2]), max_size=40),
    st.integers(0, 25),
    st.sampled_from([0.4, 1.3, -2.2]),
)
@settings(max_examples=60)
def test_every_rule_by_a_plain_reading(
    rule: Rule, row: list[float], more: int, value: float
) -> None:
    # Long patterns do not come by themselves: one is put at the end.
    alternating = [value + 0.1 * (place % 2) for place in range(more)]
    rising = [value + 0.01 * place for place in range(more)]
    for tail in (alternating, rising, [value] * more):
        z = row + tail
        names = [str(at + 1) for at in plainly(z, rule)]
        found = run_rules(z, [rule])
        assert sorted({each.at for each in found}, key=int) == names


def test_a_signal_names_the_points_behind_it() -> None:
    found = run_rules([0.1, 2.5, -0.3, 2.2], labels=["Mon", "Tue", "Wed", "Thu"])
    assert [(each.rule, each.at, each.points, each.side) for each in found] == [
        ("two-of-three", "Thu", ("Tue", "Thu"), "above")
    ]
    assert found[0].said.endswith("Points: Tue, Thu.")


def test_a_point_on_the_limit_counts_only_when_asked() -> None:
    assert run_rules([3.0, -3.0], "beyond") == ()
    assert len(run_rules([3.0, -3.0], "beyond", on_limit=True)) == 2
    # A point on the centre line is on neither side.
    assert run_rules([0.5] * 7 + [0.0] + [0.5] * 7, [EIGHT_IN_A_ROW], on_limit=True) == ()


@given(st.lists(st.floats(-4, 4), max_size=30))
def test_names_and_sides_change_no_pattern(z: list[float]) -> None:
    one = run_rules(z, "nelson")
    named = run_rules(z, "nelson", labels=[f"p{at}" for at in range(len(z))])
    assert [(each.rule, int(each.at) - 1) for each in one] == [
        (each.rule, int(each.at[1:])) for each in named
    ]
    mirrored = run_rules([-value for value in z], "nelson")
    assert sorted((each.rule, each.at) for each in one) == sorted(
        (each.rule, each.at) for each in mirrored
    )


def test_a_single_rule_has_its_closed_form() -> None:
    assert run_rule_arl("beyond").value == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-9)
    # A run of eight on either side: 2**8 - 1 points.
    assert run_rule_arl([EIGHT_IN_A_ROW]).value == pytest.approx(2**8 - 1, rel=1e-9)
    inside = norm.cdf(1) - norm.cdf(-1)
    for rule, p in ((FIFTEEN_INSIDE, inside), (EIGHT_OUTSIDE, 1 - inside)):
        run = (1 - p**rule.count) / ((1 - p) * p**rule.count)
        assert run_rule_arl([rule]).value == pytest.approx(run, rel=1e-9)


@pytest.mark.parametrize("shift", [0.0, 0.6])
def test_chain_and_simulation_agree(shift: float) -> None:
    exact = run_rule_arl(WESTERN_ELECTRIC, shift).value
    simulated = rule_run_length._simulated(WESTERN_ELECTRIC, shift, 1.0, 3)
    half = (simulated.value - (simulated.low or 0.0)) / 1.96
    assert abs(simulated.value - exact) < 3.5 * half


def test_rules_that_need_the_order_are_simulated_with_an_interval() -> None:
    found = run_rule_arl("nelson")
    assert found.n == rule_run_length.RUNS
    assert found.low is not None
    assert found.high is not None
    assert found.low < found.value < found.high
    # More rules than Western Electric's, so a false alarm comes sooner.
    assert found.high < run_rule_arl("western-electric").value
    assert run_rule_arl("nelson") == found


@given(st.floats(0, 3), st.floats(0.05, 1))
@settings(max_examples=20)
def test_a_larger_shift_is_seen_sooner(shift: float, more: float) -> None:
    first, second = (run_rule_arl(shift=round(at, 3)).value for at in (shift, shift + more))
    assert second < first
    assert run_rule_arl(shift=-round(shift, 3)).value == pytest.approx(first)


def test_more_spread_is_seen_sooner() -> None:
    assert run_rule_arl(spread=1.3).value < run_rule_arl().value


def test_unusable_input_is_refused() -> None:
    with pytest.raises(DataError, match="row 2"):
        run_rules([0, math.nan])
    with pytest.raises(DataError):
        run_rules([0, 1], labels=["a", "a"])
    with pytest.raises(ValueError, match="rules"):
        run_rules([0], "montgomery")
    with pytest.raises(ValueError, match="cannot be"):
        run_rules([0], [Rule("odd", 3, 2, "beyond", 1.0, "Odd.")])
    with pytest.raises(ValueError, match="spread"):
        run_rule_arl(spread=0.0)
    assert run_rules([]) == ()
    assert set(RULE_SETS) == {"beyond", "western-electric", "nelson"}
    assert np.isclose(BEYOND.distance, 3.0)
