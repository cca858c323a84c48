"""The risk-adjusted CUSUM: with equal risks the ordinary one, with unequal ones by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation import risk_adjusted_cusum as module
from scoring.variation.bernoulli_cusum import bernoulli_cusum, cusum_design
from scoring.variation.risk_adjusted_cusum import RiskAdjustedCusum, risk_adjusted_cusum

GENERATOR = np.random.default_rng(21)
RISK = GENERATOR.beta(2, 10, 150)
FAILED = GENERATOR.random(150) < RISK


def made(*args: object, **options: object) -> RiskAdjustedCusum:
    found = risk_adjusted_cusum(*args, **options)  # type: ignore[arg-type]
    assert isinstance(found, RiskAdjustedCusum)
    return found


def test_equal_risks_are_the_ordinary_cusum() -> None:
    p0, ratio = 0.1, 2.5
    p1 = ratio * p0 / (1 - p0 + ratio * p0)
    design = cusum_design(p0, p1, 2.1)
    row = GENERATOR.random(80) < 0.2
    chart = made(row, np.full(80, p0), odds_ratio1=ratio, h=2.1)
    ordinary = bernoulli_cusum(row, design)
    assert chart.path == pytest.approx(ordinary.path)
    assert chart.signals == ordinary.signals
    assert chart.arl0 == pytest.approx(design.arl0, rel=0.05)
    assert chart.arl1 == pytest.approx(design.arl1, rel=0.05)
    assert chart.alpha == pytest.approx(design.alpha, abs=0.02)
    assert chart.beta == pytest.approx(design.beta, abs=0.02)


def test_run_lengths_agree_with_simulation() -> None:
    chart = made(FAILED, RISK, h=2.4)
    for ratio, told, within in ((1.0, chart.arl0, chart.alpha), (2.0, chart.arl1, 1 - chart.beta)):
        odds = ratio * RISK / (1 - RISK)
        chance = odds / (1 + odds)
        success = -np.log(1 - RISK + 2 * RISK)
        now, here, at, lengths = np.zeros(4000), np.arange(4000), 0, np.zeros(4000)
        while len(here):
            case = GENERATOR.integers(0, 150, len(here))
            failed = GENERATOR.random(len(here)) < chance[case]
            now = np.maximum(0, now + success[case] + math.log(2) * failed)
            at += 1
            out = now >= 2.4
            lengths[here[out]] = at
            here, now = here[~out], now[~out]
        assert told == pytest.approx(lengths.mean(), rel=0.06)
        assert within == pytest.approx(np.mean(lengths <= 100), abs=0.03)


def test_the_grid_is_fine_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    before = made(FAILED, RISK, h=2.4)
    monkeypatch.setattr(module, "GRID", 2 * module.GRID)
    after = made(FAILED, RISK, h=2.4)
    assert after.arl0 == pytest.approx(before.arl0, rel=0.005)
    assert after.arl1 == pytest.approx(before.arl1, rel=0.005)


def test_a_limit_for_a_wanted_run() -> None:
    chart = made(FAILED, RISK, arl0=300)
    assert chart.arl0 == pytest.approx(300, rel=1e-3)
    better = made(FAILED, RISK, odds_ratio1=0.5, arl0=300)
    assert better.arl0 == pytest.approx(300, rel=1e-3)
    assert better.arl1 < 300


def test_hard_cases_weigh_less() -> None:
    easy = made([1], [0.05], h=5.0)
    hard = made([1], [0.6], h=5.0)
    assert easy.path[0] > hard.path[0]


def test_missing_cases_are_left_out_and_counts_told() -> None:
    chart = made([1, None, 0, 1], [0.1, 0.2, None, 0.3], h=1.0, labels=list("abcd"))
    assert chart.labels == ("a", "d")
    assert (chart.observed, chart.expected) == (2, pytest.approx(0.4))


def test_a_very_high_limit_is_never_reached() -> None:
    chart = made(FAILED, RISK, h=40.0)
    assert chart.arl0 > 1e12
    assert chart.alpha == pytest.approx(0.0, abs=1e-12)


def test_too_little_and_unusable() -> None:
    assert isinstance(risk_adjusted_cusum([], [], h=2.0), TooLittleEvidence)
    assert isinstance(risk_adjusted_cusum([None], [0.1], h=2.0), TooLittleEvidence)
    for failures, expected in (([1], [0.1, 0.2]), ([1], [1.0]), ([2], [0.5])):
        with pytest.raises(DataError):
            risk_adjusted_cusum(failures, expected, h=2.0)
    wrong: list[dict[str, float]] = [
        {}, {"h": 1.0, "arl0": 10}, {"h": 0.0}, {"h": 1.0, "odds_ratio1": 1.0},
        {"h": 1.0, "odds_ratio1": -1.0}, {"arl0": math.inf}, {"arl0": 1.0},
    ]  # fmt: skip
    for options in wrong:
        with pytest.raises(ValueError, match=r"wanted|shorter"):
            risk_adjusted_cusum([1], [0.2], **options)  # type: ignore[arg-type]
