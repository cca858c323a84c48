"""The effect of a retraining: right though the worst were chosen, and what else is told beside."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
import statsmodels.api as sm  # type: ignore[import-untyped]

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.variation.before_after import adjusted_difference, plain_difference, sums
from scoring.variation.binomial import BinomialFit
from scoring.variation.logit_at import logit_at
from scoring.variation.retraining import RetrainingEffect, retraining_effect, retraining_model

EFFECT, DRIFT = 0.6, 0.3


def department(
    rng: np.random.Generator, effect: float = EFFECT, people: int = 24
) -> tuple[dict[str, Any], npt.NDArray[np.float64]]:
    """Rows of a department whose lowest quarter was retrained, and the true logits."""
    o, s, t = np.indices((people, 5, 2)).reshape(3, -1)
    plain = 0.8 + rng.normal(0, 0.9, people)[o] + rng.normal(0, 0.6, 5)[s] + DRIFT * t
    first = rng.binomial(4, 1 / (1 + np.exp(-plain)))
    before = np.bincount(o[t == 0], first[t == 0])
    chosen = np.argsort(before + rng.uniform(0, 0.5, people))[: people // 4]
    logits = plain + effect * (np.isin(o, chosen) & (t == 1))
    later = rng.binomial(4, 1 / (1 + np.exp(-logits)))
    rows = {
        "successes": np.where(t == 1, later, first),
        "trials": np.full(len(o), 4),
        "operators": [f"OP-{k:03}" for k in o],
        "scenarios": [f"s{k}" for k in s],
        "times": t.astype(float),
        "retrained": [f"OP-{k:03}" for k in chosen],
        "at": 1.0,
    }
    return rows, logits


def told(**arguments: Any) -> RetrainingEffect:
    found = retraining_effect(**arguments, seed=1)
    assert isinstance(found, RetrainingEffect), found
    return found


def test_the_model_covers_the_truth_and_the_plain_comparison_does_not() -> None:
    rng = np.random.default_rng(7)
    model, logits_covered, bias = [], [], []
    plain: list[tuple[bool, float]] = []
    adjusted: list[tuple[bool, float]] = []
    for _ in range(1000):
        rows, logits = department(rng)
        fit = retraining_model(**rows)
        assert not isinstance(fit, TooLittleEvidence), fit
        effect = fit.coefficient("retrained")
        assert effect.low is not None
        assert effect.high is not None
        model.append(effect.low <= EFFECT <= effect.high)
        bias.append(effect.value - EFFECT)
        who = np.array([int(code[3:]) for code in rows["operators"]])
        mine = np.isin(rows["operators"], rows["retrained"])
        after = rows["times"] == 1
        design = np.column_stack([np.ones(len(who)), mine & after, after]).astype(float)
        what = [int(name[1:]) for name in rows["scenarios"]]
        found = logit_at(fit, design, {"operator": who, "scenario": what})
        logits_covered.append(np.mean(np.abs(found.means - logits) < 1.96 * found.sds))
        here = logits[mine & after]
        gone = 100 * np.mean(1 / (1 + np.exp(-here)) - 1 / (1 + np.exp(EFFECT - here)))
        people = sums(
            rows["successes"].astype(float), np.full(len(who), 4.0), rows["operators"], after,
            rows["retrained"],
        )  # fmt: skip
        for kept, shown in (
            (plain, plain_difference(people, 0.95)),
            (adjusted, adjusted_difference(people, 0.95)),
        ):
            assert isinstance(shown, Estimate)
            assert shown.low is not None
            assert shown.high is not None
            kept.append((shown.low <= gone <= shown.high, shown.value - gone))
    assert 0.93 <= np.mean(model) <= 0.97
    assert abs(np.mean(bias)) < 0.05
    assert 0.93 <= np.mean(logits_covered) <= 0.97
    assert np.mean([inside for inside, _ in plain]) < 0.7
    assert np.mean([off for _, off in plain]) > 8.0
    assert abs(np.mean([off for _, off in adjusted])) < 4.0


def test_chance_alone_is_what_a_plain_comparison_shows_when_nothing_is_done() -> None:
    """Over many departments where nothing changed at all, the two agree on average."""
    rng = np.random.default_rng(11)
    gaps, inside, naive = [], [], []
    for _ in range(40):
        rows, logits = department(rng, effect=0.0)
        later = rows["times"] == 1
        again = rng.binomial(4, 1 / (1 + np.exp(DRIFT - logits)))
        rows["successes"] = np.where(later, again, rows["successes"])
        found = told(**rows, interval="wald")
        chance = found.chance_alone
        assert isinstance(chance, Estimate)
        assert chance.low is not None
        assert chance.high is not None
        gaps.append(chance.value - found.naive.value)
        naive.append(found.naive.value)
        inside.append(chance.low <= found.naive.value <= chance.high)
    assert np.mean(naive) > 4.0
    assert abs(np.mean(gaps)) < 2.5
    assert np.mean(inside) >= 0.85


def test_what_is_told_hangs_together() -> None:
    rows, _ = department(np.random.default_rng(3))
    found = told(**rows)
    assert found.odds_ratio.value == pytest.approx(np.exp(found.effect.value))
    for one in (found.effect, found.points, found.odds_ratio, found.naive):
        assert one.low is not None
        assert one.high is not None
        assert one.low < one.value < one.high
        assert one.n == 6
    assert np.sign(found.points.value) == np.sign(found.effect.value)
    assert (found.retrained, found.others) == (6, 18)
    assert found.everybody is not None
    wald = told(**rows, interval="wald").effect
    assert wald.value == found.effect.value
    assert wald.low == pytest.approx(found.effect.low, abs=0.05)
    assert told(**rows).chance_alone == found.chance_alone
    right = rows["successes"].reshape(24, 5, 2).sum(axis=1) / 20.0
    chosen = np.isin([f"OP-{k:03}" for k in range(24)], rows["retrained"])
    assert found.naive.value == pytest.approx(100 * np.diff(right[chosen], axis=1).mean())
    design = sm.add_constant(np.column_stack([chosen, right[:, 0]]).astype(float))
    ols = sm.OLS(100 * right[:, 1], design).fit()
    assert isinstance(found.adjusted, Estimate)
    assert found.adjusted.value == pytest.approx(ols.params[1])
    assert [found.adjusted.low, found.adjusted.high] == pytest.approx(ols.conf_int()[1])


def test_order_and_codes_of_rows_change_nothing() -> None:
    rows, _ = department(np.random.default_rng(4))
    found = told(**rows)
    order = np.random.default_rng(0).permutation(len(rows["trials"]))
    mixed = rows | {
        name: np.asarray(rows[name])[order]
        for name in ("successes", "trials", "operators", "scenarios", "times")
    }
    again = told(**mixed)
    assert again.effect.value == pytest.approx(found.effect.value, abs=1e-6)
    assert again.points.value == pytest.approx(found.points.value, abs=1e-4)
    renamed = rows | {
        "operators": ["Z" + code[::-1] for code in rows["operators"]],
        "retrained": ["Z" + code[::-1] for code in rows["retrained"]],
    }
    assert told(**renamed).effect.value == pytest.approx(found.effect.value, abs=1e-6)


def test_months_on_both_sides_give_a_line_and_a_step_or_a_level_each() -> None:
    rng = np.random.default_rng(8)
    o, s, t = np.indices((16, 3, 8)).reshape(3, -1)
    mine = o < 5
    logits = 0.5 + rng.normal(0, 0.7, 16)[o] + 0.08 * t + 0.9 * (mine & (t >= 4))
    rows: dict[str, Any] = {
        "successes": rng.binomial(3, 1 / (1 + np.exp(-logits))),
        "trials": np.full(len(o), 3),
        "operators": o,
        "scenarios": s,
        "times": t + 0.5,
        "retrained": range(5),
        "at": 4.0,
    }
    line = told(**rows)
    assert line.fit.names == ("(Intercept)", "retrained", "after", "time")
    step = told(**rows, calendar="step")
    assert step.fit.names == ("(Intercept)", "retrained", "after")
    levels = told(**rows, calendar="periods")
    assert len(levels.fit.names) == 2 + 7
    assert levels.everybody is None
    assert levels.effect.value == pytest.approx(line.effect.value, abs=0.1)
    more = told(**rows, fixed={"months in post": np.log1p(t)})
    assert "months in post" in more.fit.names


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"retrained": ["OP-000", "OP-001"]}, "retrained"),
        ({"retrained": [f"OP-{k:03}" for k in range(22)]}, "others"),
        ({"at": 5.0}, "retrained"),
        ({"at": 0.0}, "retrained"),
        ({"successes": np.full(240, 4)}, "difference"),
        ({"scenarios": ["s0"] * 240}, "scenario"),
        ({"successes": np.full(240, np.nan)}, "retrained"),
    ],
)
def test_too_little_is_said(change: dict[str, Any], missing: str) -> None:
    rows, _ = department(np.random.default_rng(5))
    found = retraining_effect(**(rows | change), seed=1)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing
    assert found.said.endswith(".")


@pytest.mark.parametrize(
    ("change", "item"),
    [
        ({"retrained": ["OP-999"]}, "retrained"),
        ({"times": [0.0]}, "times"),
        ({"times": ["May"] * 240}, "times"),
        ({"times": np.full(240, np.nan)}, "times, row 1"),
        ({"operators": ["OP-000"]}, "operators"),
        ({"scenarios": ["s0"]}, "scenarios"),
        ({"trials": np.full(240, 1)}, "successes, row "),
    ],
)
def test_faults_in_the_data_are_named(change: dict[str, Any], item: str) -> None:
    rows, _ = department(np.random.default_rng(6))
    with pytest.raises(DataError) as caught:
        retraining_effect(**(rows | change), seed=1)
    assert caught.value.item.startswith(item)


def test_further_columns_may_stand_in_a_data_frame() -> None:
    rows, _ = department(np.random.default_rng(3))
    more = {"early": (np.arange(len(rows["trials"])) % 3 == 0).astype(float)}
    fits = [retraining_model(**rows, fixed=fixed) for fixed in (more, pd.DataFrame(more))]
    assert [fit.log_likelihood for fit in fits if isinstance(fit, BinomialFit)] == [
        pytest.approx(fits[0].log_likelihood)  # type: ignore[union-attr]
    ] * 2


def test_equal_rates_before_leave_nothing_to_adjust() -> None:
    who = [f"P{k}" for k in range(8) for _ in range(2)]
    after = np.tile([False, True], 8)
    people = sums(np.tile([3.0, 4.0], 8), np.full(16, 5.0), who, after, ["P0", "P1", "P2"])
    found = adjusted_difference(people, 0.95)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == "before"
