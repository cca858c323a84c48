"""CUSUM of answers: exact chain against enumeration and simulation, limits, verdicts."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError
from scoring.variation import bernoulli_walk
from scoring.variation.bernoulli_cusum import (
    CusumDesign,
    average_run_length,
    bernoulli_cusum,
    cusum_design,
    signal_probabilities,
)

RATES = st.tuples(st.floats(0.01, 0.4), st.floats(1.3, 3)).map(
    lambda pair: (pair[0], min(0.95, pair[0] * pair[1]))
)


def first_signal(row: tuple[int, ...], design: CusumDesign) -> int | None:
    now = 0.0
    for at, failed in enumerate(row):
        now = max(0.0, now + (design.weight_failure if failed else design.weight_success))
        if now >= design.h - 1e-9:
            return at
    return None


@pytest.mark.parametrize("purpose", ["worse", "competence"])
@pytest.mark.parametrize(("p0", "p1", "h"), [(0.1, 0.25, 1.0), (0.2, 0.45, 0.7), (0.3, 0.4, 0.4)])
def test_chances_by_counting_every_row_of_answers(
    purpose: str, p0: float, p1: float, h: float
) -> None:
    design = cusum_design(p0, p1, h, purpose=purpose)  # type: ignore[arg-type]
    n, p = 11, 0.27
    expected = np.zeros(n)
    for row in product((0, 1), repeat=n):
        at = first_signal(row, design)
        if at is not None:
            failures = sum(row)
            expected[at:] += p**failures * (1 - p) ** (n - failures)
    assert signal_probabilities(design, p, n) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("p0", "p1", "h"), [(0.05, 0.12, 2.3), (0.1, 0.17, 1.9)])
@pytest.mark.parametrize("purpose", ["worse", "competence"])
def test_run_lengths_agree_with_simulation(purpose: str, p0: float, p1: float, h: float) -> None:
    design = cusum_design(p0, p1, h, purpose=purpose)  # type: ignore[arg-type]
    generator = np.random.default_rng(12)
    for p in (p0, p1):
        now, here, at, lengths = np.zeros(5000), np.arange(5000), 0, np.zeros(5000)
        while len(here):
            failed = generator.random(len(here)) < p
            step = np.where(failed, design.weight_failure, design.weight_success)
            now = np.maximum(0, now + step)
            at += 1
            out = now >= h - 1e-9
            lengths[here[out]] = at
            here, now = here[~out], now[~out]
        error = lengths.std() / math.sqrt(len(lengths))
        assert abs(average_run_length(design, p) - lengths.mean()) < 3.5 * error
        within = signal_probabilities(design, p, 100)[-1]
        assert np.mean(lengths <= 100) == pytest.approx(within, abs=0.03)


@given(RATES, st.floats(0.5, 5))
@settings(max_examples=25)
def test_mean_is_the_sum_of_the_chances_to_last(rates: tuple[float, float], h: float) -> None:
    design = cusum_design(*rates, h)
    p = 0.5 * (1 + rates[1])
    lasting = 1 + (1 - signal_probabilities(design, p, 500)[:-1]).sum()
    assert average_run_length(design, p) == pytest.approx(lasting, rel=1e-6)


def test_a_finer_lattice_changes_little(monkeypatch: pytest.MonkeyPatch) -> None:
    def figures() -> list[float]:
        return [
            average_run_length(cusum_design(p0, p1, h), p)
            for p0, p1, h in ((0.05, 0.1, 4.0), (0.013, 0.037, 3.3), (0.002, 0.01, 5.0))
            for p in (p0, p1)
        ]

    before = figures()
    monkeypatch.setattr(bernoulli_walk, "MOST_STATES", 2 * bernoulli_walk.MOST_STATES)
    monkeypatch.setattr(bernoulli_walk, "FINEST", 2 * bernoulli_walk.FINEST)
    assert figures() == pytest.approx(before, rel=1e-5)


@given(RATES)
@settings(max_examples=20)
def test_more_failures_are_seen_sooner(rates: tuple[float, float]) -> None:
    design = cusum_design(*rates, 2.0)
    runs = [average_run_length(design, p) for p in (rates[0], rates[1], (1 + rates[1]) / 2)]
    assert runs == sorted(runs, reverse=True)
    assert design.arl0 == runs[0]
    assert design.arl1 == runs[1]
    stricter = cusum_design(*rates, 3.0)
    assert stricter.arl0 >= design.arl0
    assert stricter.alpha <= design.alpha
    assert stricter.beta >= design.beta - 1e-12


@given(RATES, st.floats(200, 3000))
@settings(max_examples=8)
def test_the_lowest_limit_with_the_wanted_run(rates: tuple[float, float], arl0: float) -> None:
    design = cusum_design(*rates, arl0=arl0)
    assert design.arl0 >= arl0
    # A little lower, by more than any lattice point is worth, it is missed.
    steps = bernoulli_walk.walk(design.weight_failure, design.weight_success, design.h)
    less = max(0.02, 1.5 * steps.unit)
    if design.h > less:
        lower = average_run_length(cusum_design(*rates, design.h - less), rates[0])
        assert lower < arl0 * (1 + 1e-3)


@given(RATES, st.floats(0.01, 0.3), st.integers(20, 200), st.sampled_from(["worse", "competence"]))
@example((0.01, 0.025016201400597127), 0.015625, 20, "worse")
@settings(max_examples=8)
def test_alpha_is_kept(
    rates: tuple[float, float], alpha: float, horizon: int, purpose: str
) -> None:
    design = cusum_design(*rates, alpha=alpha, horizon=horizon, purpose=purpose)  # type: ignore[arg-type]
    assert design.alpha <= alpha
    false_at = rates[0] if purpose == "worse" else rates[1]
    assert design.alpha == signal_probabilities(design, false_at, horizon)[-1]


def test_walds_limit() -> None:
    design = cusum_design(0.05, 0.15, alpha=0.05, beta=0.1)
    assert design.h == pytest.approx(math.log(0.9 / 0.05))
    assert (design.alpha, design.beta) != (0.05, 0.1)


def test_a_rare_signal_is_told_as_rare() -> None:
    assert average_run_length(cusum_design(0.01, 0.2, 40.0), 0.0) == math.inf
    assert average_run_length(cusum_design(0.01, 0.2, 40.0), 0.01) > 1e15
    assert average_run_length(cusum_design(0.01, 0.2, 0.5), 1.0) == pytest.approx(1.0)


def test_a_path_with_its_signals_and_promises() -> None:
    design = cusum_design(0.05, 0.15, alpha=0.05)
    chart = bernoulli_cusum([0, 1, None, 1, 1, 1, 0, 0], design)
    assert chart.labels == ("1", "2", "4", "5", "6", "7", "8")
    assert chart.signals == ("6",)
    assert chart.verdict == "worse"
    assert chart.path[4] == pytest.approx(4 * math.log(3))
    # After a signal the sum starts afresh.
    assert chart.path[5] == 0.0
    for part in ("15 %", "5 %", "100 answers", "4.9 %", "8.3 %"):
        assert part in chart.said
    assert (chart.n, chart.failures) == (7, 4)


def test_verdicts() -> None:
    design = cusum_design(0.05, 0.15, alpha=0.05)
    quiet = bernoulli_cusum([0] * 20, design)
    assert quiet.verdict == "no sign"
    assert quiet.too_little is None
    for row in ([], [1], [1, 1, 1]):
        few = bernoulli_cusum(row, design)
        assert few.verdict == "too little evidence"
        assert few.too_little is not None
        assert "at least 4 are needed" in few.said


def test_flags_without_a_change_are_as_many_as_promised() -> None:
    design = cusum_design(0.1, 0.25, alpha=0.1, horizon=80)
    rows = np.random.default_rng(3).random((2000, 80)) < 0.1
    flagged = np.mean([bool(bernoulli_cusum(row, design).signals) for row in rows])
    assert flagged == pytest.approx(design.alpha, abs=0.02)
    assert flagged <= 0.12


def test_unusable_input_is_refused() -> None:
    design = cusum_design(0.05, 0.15, 2.0)
    with pytest.raises(DataError, match="answer 2"):
        bernoulli_cusum([0, 2], design)
    with pytest.raises(ValueError, match="purpose"):
        bernoulli_cusum([0], cusum_design(0.05, 0.15, 2.0, purpose="competence"))
    with pytest.raises(ValueError, match="from 0 to 1"):
        average_run_length(design, 1.5)
    for n in (-1, 2.5, float("nan"), "x"):
        with pytest.raises(ValueError, match="whole number"):
            signal_probabilities(cusum_design(0.05, 0.15, 3.0), 0.05, n)  # type: ignore[arg-type]
    wrong: list[dict[str, object]] = [
        {}, {"h": 2.0, "arl0": 100}, {"h": 0.0}, {"h": math.inf}, {"alpha": 0.0}, {"beta": 0.1},
        {"alpha": 0.1, "beta": 0.95}, {"arl0": 0.5}, {"arl0": math.nan}, {"h": 1.0, "horizon": 0},
        {"h": 1.0, "purpose": "best"},
    ]  # fmt: skip
    for options in wrong:
        with pytest.raises(ValueError, match="wanted"):
            cusum_design(0.05, 0.15, **options)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="p0 < p1"):
        cusum_design(0.2, 0.1, 2.0)
    with pytest.raises(ValueError, match="no walk"):
        bernoulli_walk.walk(1.0, 1.0, 2.0)
