"""The crossed binomial model against lme4, side by side in one run, and its cost against size.

The target is within 0.1 % of lme4's Laplace estimates and at least 50 times as fast for 200
operators x 40 scenarios x 5 answers.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from scoring.variation.adjusted_rates import adjusted_rates
from scoring.variation.binomial import BinomialFit, fit_binomial
from tests.lme4 import bring_lme4, run_r

Counts = tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.int64]]

SIZES = (
    (50, 20, 0.0),
    (200, 40, 0.0),
    (200, 40, 0.3),
    (1000, 100, 0.0),
    (2000, 200, 0.0),
    (2000, 200, 0.3),
)

SCRIPT = """
d <- read.csv("cells.csv")
d <- d[rep(seq_len(nrow(d)), 5), ]
d$y <- as.integer(rep(0:4, each = nrow(d) / 5) < d$successes)
time <- system.time(
  m <- glmer(y ~ 1 + (1 | operator) + (1 | scenario), d, family = binomial)
)[["elapsed"]]
sd <- sqrt(unlist(VarCorr(m)))
answer(list(intercept = fixef(m)[[1]], operator = sd[["operator"]], scenario = sd[["scenario"]],
  error = sqrt(as.matrix(vcov(m))[1, 1]), logLik = as.numeric(logLik(m)), seconds = time))
"""

RECORDED = {
    "intercept": 1.261976045,
    "operator": 0.8627754044,
    "scenario": 0.5562083633,
    "error": 0.1079479257,
    "logLik": -20202.10843,
}
"""What lme4 1.1-31 gave for these cells, for machines that have no R. COMPUTED."""


def cells(operators: int, scenarios: int, missing: float) -> Counts:
    """Return successes of 5 by operator and scenario, with a part of the cells left out."""
    rng = np.random.default_rng(2026)
    o, s = np.indices((operators, scenarios)).reshape(2, -1)
    eta = 1.2 + rng.normal(0, 0.8, operators)[o] + rng.normal(0, 0.6, scenarios)[s]
    y = rng.binomial(5, 1 / (1 + np.exp(-eta)))
    kept = rng.random(len(y)) >= missing
    return y[kept], o[kept], s[kept]


def timed(counts: Counts, repeats: int) -> tuple[BinomialFit, float]:
    """Return the fit and the least time it took, in seconds."""
    y, o, s = counts
    least = np.inf
    for _ in range(repeats):
        start = time.perf_counter()
        fit = fit_binomial(y, np.full(len(y), 5), groups={"operator": o, "scenario": s})
        least = min(least, time.perf_counter() - start)
    assert isinstance(fit, BinomialFit)
    return fit, least


def test_speed_and_estimates_beside_lme4(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    counts = cells(200, 40, 0.0)
    rows = zip(*counts, strict=True)
    text = "\n".join(["successes,operator,scenario", *(f"{y},{o},{s}" for y, o, s in rows)])
    (tmp_path / "cells.csv").write_text(text + "\n", encoding="utf-8")
    rscript = bring_lme4()
    lme4 = RECORDED if rscript is None else run_r(SCRIPT, folder=tmp_path, rscript=rscript)
    y, o, s = counts
    long = np.tile(np.arange(len(y)), 5)
    answers = np.repeat(np.arange(5), len(y)) < y[long]
    fit, ours = timed(counts, 9)
    start = time.perf_counter()
    again = fit_binomial(answers, groups={"operator": o[long], "scenario": s[long]})
    from_answers = time.perf_counter() - start
    assert isinstance(again, BinomialFit)
    with capsys.disabled():
        print(
            f"\nbinomial 200 x 40 x 5: {ours * 1e3:.0f} ms from counts, "
            f"{from_answers * 1e3:.0f} ms from 40,000 answers"
        )
        if rscript is not None:
            theirs = lme4["seconds"]
            print(
                f"lme4 {theirs:.2f} s: {theirs / ours:.0f} and {theirs / from_answers:.0f} times "
                "as fast (target 50)"
            )
    for found, name in (
        (fit.coefficients[0], "intercept"),
        (fit.sds["operator"], "operator"),
        (fit.sds["scenario"], "scenario"),
    ):
        assert found == pytest.approx(lme4[name], rel=1e-3)
    assert fit.standard_errors[0] == pytest.approx(lme4["error"], rel=0.01)
    # The answers' likelihood has no binomial coefficients, as lme4's on answers.
    assert again.log_likelihood == pytest.approx(lme4["logLik"], abs=1e-3)
    # Only far too slow is a failure: a busy machine must not fail.
    assert rscript is None or lme4["seconds"] / ours > 10


def test_cost_against_size(capsys: pytest.CaptureFixture[str]) -> None:
    lines, costs = [], {}
    for operators, scenarios, missing in SIZES:
        counts = cells(operators, scenarios, missing)
        fit, seconds = timed(counts, 3 if operators < 1000 else 1)
        start = time.perf_counter()
        adjusted_rates(fit, 0.3)
        rates = time.perf_counter() - start
        costs[operators, scenarios, missing] = seconds
        lines.append(
            f"{operators:>6} x {scenarios:<4} {missing:.0%} missing {len(counts[0]):>8,} cells "
            f"{seconds * 1e3:8.0f} ms, rates and verdicts {rates * 1e3:6.0f} ms, "
            f"operator spread {fit.sds['operator']:.3f} (true 0.8)"
        )
        assert abs(fit.sds["operator"] - 0.8) < 0.35
    with capsys.disabled():
        print("\n" + "\n".join(lines))
    # Fifty times as many cells must not cost many hundred times as much.
    assert costs[2000, 200, 0.0] < 1000 * costs[200, 40, 0.0]
