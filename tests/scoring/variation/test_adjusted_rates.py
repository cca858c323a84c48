"""Rates of people: bounds, brute force, coverage, flags, and that shrinkage beats raw rates."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import expit

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.adjusted_rates import (
    OperatorRates,
    Verdict,
    adjusted_rates,
    averaged,
    flagged,
)
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.few_operators import FewOperators, few_operators
from scoring.variation.operator_posterior import logit_posterior
from tests.scoring.variation.test_binomial import Array, drawn, fitted


def rates_of(seed: int = 3, limit: float | None = 0.35) -> tuple[BinomialFit, OperatorRates]:
    y, m, groups = drawn(seed)
    fit = fitted(y, m, groups=groups)
    return fit, adjusted_rates(fit, limit)


def test_each_person_stands_beside_the_raw_rate_and_is_drawn_to_the_average() -> None:
    y, m, groups = drawn(3)
    _, rates = rates_of()
    assert [person.operator for person in rates.operators] == [str(k) for k in range(24)]
    for k, person in enumerate(rates.operators):
        own = groups["operator"] == k
        assert person.events == int((m - y)[own].sum())
        assert person.answers == int(m[own].sum())
        assert person.raw == person.events / person.answers
        assert 0 < person.low < person.rate < person.high < 1
        assert 0 < person.own_weight < 1
        assert person.exceeds is not None
        assert 0 <= person.exceeds <= 1
    spread = [np.std([getattr(p, name) for p in rates.operators]) for name in ("rate", "raw")]
    assert spread[0] < spread[1]
    assert rates.average == pytest.approx(np.mean([p.rate for p in rates.operators]), abs=0.05)


def test_failure_and_success_are_mirror_images() -> None:
    fit, rates = rates_of()
    mirror = adjusted_rates(fit, 0.35, rate="success")
    for one, other in zip(rates.operators, mirror.operators, strict=True):
        assert one.rate == pytest.approx(1 - other.rate, abs=1e-9)
        assert one.low == pytest.approx(1 - other.high, abs=1e-4)
        assert one.raw == pytest.approx(1 - other.raw)


def test_more_failures_of_one_operator_make_the_rate_higher() -> None:
    y, m, groups = drawn(3)
    before = adjusted_rates(fitted(y, m, groups=groups), 0.35).operators[5]
    place = np.flatnonzero((groups["operator"] == 5) & (y > 0))[:3]
    y[place] -= 1
    after = adjusted_rates(fitted(y, m, groups=groups), 0.35).operators[5]
    assert after.rate > before.rate
    assert before.exceeds is not None
    assert after.exceeds is not None
    assert after.exceeds > before.exceeds


def test_rate_at_the_average_scenario_is_further_from_a_half() -> None:
    fit, rates = rates_of()
    single = adjusted_rates(fit, 0.35, over="average")
    assert single.average < rates.average < 0.5
    sd = fit.sds["scenario"]
    draws = np.random.default_rng(1).normal(-fit.coefficients[0], sd, 400_000)
    assert rates.average == pytest.approx(expit(draws).mean(), abs=2e-3)
    assert single.average == pytest.approx(expit(-fit.coefficients[0]))


def test_fixed_columns_are_set_by_name() -> None:
    y, m, groups = drawn(9)
    retrained = (groups["scenario"] % 2).astype(float)
    fit = fitted(y, m, groups=groups, fixed={"retrained": retrained})
    before = adjusted_rates(fit, at={"retrained": 0.0}, over="average")
    after = adjusted_rates(fit, at={"retrained": 1.0}, over="average")
    gap = np.log(before.average / (1 - before.average)) - np.log(
        after.average / (1 - after.average)
    )
    assert gap == pytest.approx(fit.coefficients[1])
    assert before.operators[0].exceeds is None
    assert before.operators[0].verdict is None


def test_posterior_equals_sampling_it_from_the_likelihood() -> None:
    """One factor: a plain grid over mean and spread, and each operator's own integral."""
    rng = np.random.default_rng(11)
    m = np.full(12, 12.0)
    y = rng.binomial(12, expit(-1.2 + rng.normal(0, 0.7, 12))).astype(float)
    fit = fitted(y, m, groups={"operator": np.arange(12)})
    found = logit_posterior(fit, "operator", np.ones(1))
    mean, sd = np.meshgrid(np.linspace(-3, 1, 61), np.linspace(0.005, 4, 90), indexing="ij")
    eta = np.linspace(-8, 5, 801)
    like = np.exp(y[:, None] * eta - m[:, None] * np.logaddexp(0, eta) - 6 * np.log(0.3))
    inner = np.exp(-0.5 * ((eta - mean[..., None]) / np.maximum(sd, 0.02)[..., None]) ** 2)
    inner /= inner.sum(axis=-1, keepdims=True)
    each = inner @ like.T
    weights = np.exp(np.log(each).sum(axis=-1) - np.log(each).sum(axis=-1).max())
    weights /= weights.sum()
    means = (inner @ (like * eta).T) / each
    squares = (inner @ (like * eta**2).T) / each
    mean_of = np.einsum("ij,ijk->k", weights, means)
    spread_of = np.sqrt(np.einsum("ij,ijk->k", weights, squares) - mean_of**2)
    mixture = found.weights @ found.means
    width = np.sqrt(found.weights @ (found.sds**2 + found.means**2) - mixture**2)
    assert mixture == pytest.approx(mean_of, abs=0.12)
    assert width == pytest.approx(spread_of, rel=0.12)


def test_too_few_answers_neither_flag_nor_clear() -> None:
    y, m, groups = drawn(3)
    keep = (groups["operator"] != 5) | (groups["scenario"] == 0)
    fit = fitted(y[keep], m[keep], groups={name: codes[keep] for name, codes in groups.items()})
    assert adjusted_rates(fit, 0.9).operators[5].verdict is Verdict.TOO_LITTLE
    assert adjusted_rates(fit, 0.01).operators[5].verdict is Verdict.TOO_LITTLE
    assert adjusted_rates(fit, 0.9).operators[6].verdict is Verdict.NOT_SHOWN
    assert adjusted_rates(fit, 0.01).operators[6].verdict is Verdict.WORSE


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40), st.floats(0.01, 0.5))
def test_flags_hold_the_share_and_are_the_most_likely(
    exceeds: list[float], promised: float
) -> None:
    found = flagged(np.array(exceeds), promised)
    wrong = 1 - np.array(exceeds)
    if found.any():
        assert wrong[found].mean() <= promised + 1e-12
        assert wrong[found].max() < wrong[~found].min(initial=2.0)
    larger = flagged(np.array(exceeds), min(0.9, promised * 1.5))
    assert (found <= larger).all()


def test_wrong_parameters_are_refused() -> None:
    fit, _ = rates_of()
    for keywords, said in (
        ({"limit": 0.0}, "limit"),
        ({"limit": 1.2}, "limit"),
        ({"group": "nobody"}, "group"),
        ({"at": {"month": 1.0}}, "month"),
        ({"false_discovery": 0.0}, "false_discovery"),
        ({"notable_odds": 1.0}, "notable_odds"),
        ({"confidence": 1.0}, "confidence"),
    ):
        with pytest.raises(ValueError, match=said):
            adjusted_rates(fit, **keywords)  # type: ignore[arg-type]


def simulated(
    rng: np.random.Generator, shape: tuple[int, int, int], spread: float, limit: float
) -> tuple[Array, OperatorRates]:
    """Return true failure rates over the population of scenarios, and what is made of a sample."""
    operators, scenarios, trials = shape
    o, s = np.indices((operators, scenarios)).reshape(2, -1)
    effect = rng.normal(0, spread, operators)
    eta = 1.6 + effect[o] + rng.normal(0, 0.5, scenarios)[s]
    y = rng.binomial(trials, expit(eta))
    fit = fit_binomial(y, np.full(len(y), trials), groups={"operator": o, "scenario": s})
    assert isinstance(fit, BinomialFit)
    return averaged(-1.6 - effect, 0.25), adjusted_rates(fit, limit)


def test_coverage_shrinkage_and_false_discoveries() -> None:
    """1,200 people in 40 departments, a limit that about a third of them exceed."""
    rng = np.random.default_rng(2026)
    inside, adjusted, raw, false, made, power = [], [], [], [], 0, []
    for _ in range(40):
        true, rates = simulated(rng, (30, 10, 4), 0.8, 0.22)
        people = rates.operators
        inside += [p.low <= t <= p.high for p, t in zip(people, true, strict=True)]
        adjusted += [(p.rate - t) ** 2 for p, t in zip(people, true, strict=True)]
        raw += [(p.raw - t) ** 2 for p, t in zip(people, true, strict=True)]
        flags = np.array([p.verdict is Verdict.WORSE for p in people])
        made += int(flags.sum())
        false.append((flags & (true <= 0.22)).sum() / max(1, flags.sum()))
        power.append((flags & (true > 0.3)).sum() / max(1, (true > 0.3).sum()))
    assert 0.93 <= np.mean(inside) <= 0.97
    assert np.mean(adjusted) < 0.9 * np.mean(raw)
    assert made > 40
    # Promised 5 % on average; with 40 departments chance alone adds up to 3 points.
    assert np.mean(false) <= 0.08
    assert np.mean(power) > 0.4


def test_nobody_is_flagged_where_nobody_is_worse() -> None:
    """All alike and at the limit, the hardest case: some flag in 5 % of departments at most."""
    rng = np.random.default_rng(5)
    limit = float(averaged(np.array([-1.6]), 0.25)[0])
    some = [
        any(
            p.verdict is Verdict.WORSE for p in simulated(rng, (20, 10, 3), 0.0, limit)[1].operators
        )
        for _ in range(50)
    ]
    # 50 departments at 5 %: 8 or more would be seen once in a hundred.
    assert sum(some) <= 7


def test_few_operators_equal_a_plain_grid_and_bound_the_rates() -> None:
    y, m = np.array([0.0, 3.0, 1.0]), np.array([10.0, 12.0, 8.0])
    found = few_operators(y, m, ["a", "b", "c"], limit=0.2, mean_prior=(0.0, 2.0))
    assert isinstance(found, FewOperators)
    mean, sd = np.meshgrid(np.linspace(-8, 5, 91), np.exp(np.linspace(-5, 1.6, 60)), indexing="ij")
    eta = np.linspace(-14, 9, 1401)
    like = np.exp(y[:, None] * eta - m[:, None] * np.logaddexp(0, eta))
    inner = np.exp(-0.5 * ((eta - mean[..., None]) / np.maximum(sd, 0.01)[..., None]) ** 2)
    inner /= inner.sum(axis=-1, keepdims=True)
    each = inner @ like.T
    weights = each.prod(axis=-1) * sd * np.exp(-0.5 * sd**2 - 0.5 * (mean / 2) ** 2)
    weights /= weights.sum()
    rates = np.einsum("ij,ijk->k", weights, (inner @ (like * expit(eta)).T) / each)
    above = np.einsum("ij,ijk->k", weights, (inner @ (like * (expit(eta) > 0.2)).T) / each)
    assert [e.value for e in found.rates] == pytest.approx(rates, rel=2e-3)
    assert found.exceeds == pytest.approx(above, abs=0.015)
    assert found.sd.value == pytest.approx(float((weights * sd).sum()), rel=5e-3)
    for estimate in (*found.rates, found.mean_rate):
        assert estimate.low is not None
        assert estimate.high is not None
        assert 0 <= estimate.low < estimate.value < estimate.high <= 1


def test_few_operators_say_what_is_missing_and_refuse_faulty_data() -> None:
    alone = few_operators([1, 0], [5, 0])
    assert isinstance(alone, TooLittleEvidence)
    assert alone.missing == "operators"
    nothing = few_operators([0, 0], [0, 0])
    assert isinstance(nothing, TooLittleEvidence)
    assert nothing.missing == "answers"
    clean = few_operators([0, 0, 0], [20, 30, 25], limit=0.1)
    assert isinstance(clean, FewOperators)
    assert clean.exceeds is not None
    assert max(clean.exceeds) < 0.2
    more = few_operators([0, 0, 0], [200, 300, 250], limit=0.1)
    assert isinstance(more, FewOperators)
    assert more.rates[0].value < clean.rates[0].value
    for events, trials, codes in (([6], [5], None), ([1, 1], [5, 5], ["a", "a"]), ([1], [5], "ab")):
        with pytest.raises(DataError):
            few_operators(events, trials, codes)
    with pytest.raises(ValueError, match="at most 300 operators"):
        few_operators([1] * 301, [5] * 301)
    for keywords in ({"limit": 1.0}, {"sd_scale": 0.0}, {"precision_prior": (0.0, 1.0)}):
        with pytest.raises(ValueError, match="wanted"):
            few_operators([1, 2], [5, 5], **keywords)  # type: ignore[arg-type]
