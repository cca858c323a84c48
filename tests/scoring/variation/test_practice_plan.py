"""The practice plan: the best there is, the same in any order, and honest about the unseen."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.logit_at import logit_at
from scoring.variation.practice_plan import Gain, PracticePlan, practice_plan

Array = npt.NDArray[Any]


def department(seed: int, people: int = 14, names: int = 6) -> dict[str, Any]:
    rng = np.random.default_rng(seed)
    o, s = np.indices((people, names)).reshape(2, -1)
    eta = 1.0 + rng.normal(0, 0.9, people)[o] + rng.normal(0, 0.6, names)[s]
    return {
        "successes": rng.binomial(4, 1 / (1 + np.exp(-eta))),
        "trials": np.full(len(o), 4),
        "operators": [f"OP-{k:03}" for k in o],
        "scenarios": [f"s{k}" for k in s],
    }


SEVERITIES = {f"s{k}": float(1 + k % 4) for k in range(6)}


def test_greedy_is_the_best_of_all_plans() -> None:
    rows = department(1, people=3, names=3)
    gain = Gain(share=0.4)
    whole = practice_plan(
        **rows, severities={f"s{k}": float(1 + k) for k in range(3)}, each=99, repeats=2, gain=gain
    )
    assert whole.too_little is None
    assert len(whole.lines) == 9
    risks = {(at.operator, at.scenario): at.risk for at in whole.lines}
    pairs = sorted(risks)

    def taken(plan: dict[tuple[str, str], int]) -> float:
        return sum(risks[pair] * (1 - 0.6**times) for pair, times in plan.items())

    best = 0.0
    for numbers in product(range(3), repeat=9):
        plan = dict(zip(pairs, numbers, strict=True))
        people = [sum(plan[p] for p in pairs if p[0] == code) for code, _ in pairs]
        if sum(numbers) == 4 and max(people) <= 2:
            best = max(best, taken(plan))
    found = practice_plan(
        **rows,
        severities={f"s{k}": float(1 + k) for k in range(3)},
        each=2,
        budget=4,
        repeats=2,
        gain=gain,
    )
    assert sum(line.practices for line in found.lines) == 4
    assert found.reduction == pytest.approx(best)


def test_lines_follow_from_the_model_and_say_why() -> None:
    rows = department(2)
    found = practice_plan(**rows, severities=SEVERITIES, mistakes={"s3": ["M20", "M21"]}, each=2)
    assert found.risk == pytest.approx(
        practice_plan(**rows, severities=SEVERITIES, each=99).reduction / 0.3
    )
    assert len(found.lines) == 28
    reductions = [line.reduction for line in found.lines]
    assert reductions == sorted(reductions, reverse=True)
    for line in found.lines:
        assert line.failure.low is not None
        assert line.failure.high is not None
        assert 0 < line.failure.low < line.failure.value < line.failure.high < 1
        assert line.risk == pytest.approx(line.severity * line.failure.value)
        assert line.reduction == pytest.approx(0.3 * line.risk)
        assert f"severity {line.severity:g}" in line.said
        assert f"{100 * line.failure.value:.0f} in 100" in line.said
    hard = [line for line in found.lines if line.scenario == "s3"]
    assert hard
    assert all(line.mistakes == ("M20", "M21") for line in hard)
    assert found.gain.source == "assumption"
    assert found.unseen == ()


def test_order_of_rows_and_split_rows_change_nothing() -> None:
    rows = department(3)
    first = practice_plan(**rows, severities=SEVERITIES, budget=9)
    order = np.random.default_rng(0).permutation(len(rows["trials"]))
    mixed: dict[str, Any] = {name: [values[k] for k in order] for name, values in rows.items()}
    second = practice_plan(**mixed, severities=SEVERITIES, budget=9)
    assert [(at.operator, at.scenario) for at in first.lines] == [
        (at.operator, at.scenario) for at in second.lines
    ]
    single: dict[str, Any] = {
        "successes": np.concatenate(
            [np.arange(4) < y for y in np.asarray(rows["successes"])]
        ).astype(float),
        "operators": np.repeat(rows["operators"], 4),
        "scenarios": np.repeat(rows["scenarios"], 4),
    }
    third = practice_plan(**single, severities=SEVERITIES, budget=9)
    assert [at.said for at in third.lines] == [at.said for at in first.lines]


def test_the_same_result_goes_to_the_first_code() -> None:
    """Operators in pairs with the same answers: the tie is broken by code."""
    rows = department(4, people=6)
    twins: dict[str, Any] = {
        "successes": np.concatenate([rows["successes"], rows["successes"]]),
        "trials": np.concatenate([rows["trials"], rows["trials"]]),
        "operators": [f"B{c}" for c in rows["operators"]] + [f"A{c}" for c in rows["operators"]],
        "scenarios": rows["scenarios"] * 2,
    }
    found = practice_plan(**twins, severities=SEVERITIES, budget=1)
    assert [line.operator[0] for line in found.lines] == ["A"]


def test_what_was_never_assessed_stands_apart() -> None:
    rows = department(5)
    kept = [
        k
        for k in range(len(rows["trials"]))
        if (rows["operators"][k], rows["scenarios"][k]) != ("OP-001", "s3")
        and (rows["operators"][k] != "OP-002" or rows["scenarios"][k] == "s0")
    ]
    thin: dict[str, Any] = {name: [values[k] for k in kept] for name, values in rows.items()}
    severities = SEVERITIES | {"s9": 4.0}
    found = practice_plan(**thin, severities=severities, everybody=["OP-900"], each=2)
    listed = {(at.operator, at.scenario): at for at in found.unseen}
    assert listed["OP-001", "s3"].answers == 0
    assert listed["OP-001", "s3"].said == "Never assessed here; severity 4."
    assert [s for o, s in listed if o == "OP-900"] == ["s3", "s9"]
    assert listed["OP-000", "s9"].answers_in_all == 24
    # OP-002 has 4 answers in all: too few to be told anything from them.
    assert not any(line.operator == "OP-002" for line in found.lines)
    everything = practice_plan(**thin, severities=severities, each=9)
    own = {(at.operator, at.scenario): at for at in everything.unseen}["OP-002", "s0"]
    assert (own.answers, own.said) == (4, "Answers in all: only 4; severity 1.")
    assert [at.severity for at in found.unseen] == sorted(
        (at.severity for at in found.unseen), reverse=True
    )


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"successes": np.full(84, 4)}, "difference"),
        ({"successes": np.zeros(84)}, "difference"),
        ({"successes": np.full(84, np.nan)}, "answers"),
        ({"operators": ["OP-1"] * 84}, "operator"),
        ({"scenarios": ["s0"] * 84}, "scenario"),
    ],
)
def test_no_model_no_lines(change: dict[str, Any], missing: str) -> None:
    found = practice_plan(**(department(6) | change), severities=SEVERITIES)
    assert isinstance(found, PracticePlan)
    assert found.lines == ()
    assert isinstance(found.too_little, TooLittleEvidence)
    assert found.too_little.missing == missing
    if missing == "answers":
        assert found.unseen
        assert all(at.answers == 0 for at in found.unseen)


@pytest.mark.parametrize(
    ("change", "item"),
    [
        ({"severities": {"s0": 1.0}}, "severities, s1"),
        ({"severities": SEVERITIES | {"s1": 0.0}}, "severities, s1"),
        ({"severities": SEVERITIES | {"s1": np.nan}}, "severities, s1"),
        ({"operators": ["OP-1"]}, "operators"),
        ({"successes": np.full(84, 5)}, "successes, row 1"),
    ],
)
def test_faults_in_the_data_are_named(change: dict[str, Any], item: str) -> None:
    arguments = department(7) | {"severities": SEVERITIES} | change
    with pytest.raises(DataError) as caught:
        practice_plan(**arguments)
    assert caught.value.item == item


@pytest.mark.parametrize("change", [{"each": 0}, {"budget": 0}, {"repeats": 0}])
def test_a_plan_of_nothing_is_refused(change: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="wanted 1 or more"):
        practice_plan(**department(8), severities=SEVERITIES, **change)


def test_gain_by_odds_brings_less_each_time_below_one_half() -> None:
    failure = np.array([0.4, 0.1])
    gain = Gain(odds=1.5, source="learning curve")
    left = [gain.after(failure, k) for k in range(4)]
    steps = -np.diff(left, axis=0)
    assert (steps > 0).all()
    assert (np.diff(steps, axis=0) < 0).all()
    assert left[1] == pytest.approx([1 / (1 + 1.5 * 1.5), 1 / (1 + 9 * 1.5)])
    for share, odds in ((1.2, None), (0.3, 0.9), (0.3, np.inf)):
        with pytest.raises(ValueError, match="wanted"):
            Gain(share, odds)


def test_expected_failures_are_nearer_the_truth_than_raw_ones() -> None:
    rng = np.random.default_rng(2026)
    o, s = np.indices((16, 5)).reshape(2, -1)
    groups: dict[str, Any] = {"operator": o, "scenario": s}
    errors, raw = [], []
    for _ in range(60):
        eta = 0.8 + rng.normal(0, 0.9, 16)[o] + rng.normal(0, 0.8, 5)[s]
        y = rng.binomial(4, 1 / (1 + np.exp(-eta)))
        fit = fit_binomial(y, np.full(80, 4), groups=groups)
        assert isinstance(fit, BinomialFit)
        found = logit_at(fit, np.ones((80, 1)), groups)
        p = 1 / (1 + np.exp(-eta))
        errors.append(np.mean((1 / (1 + np.exp(-found.means)) - p) ** 2))
        raw.append(np.mean((y / 4 - p) ** 2))
    assert np.mean(errors) < 0.4 * np.mean(raw)
