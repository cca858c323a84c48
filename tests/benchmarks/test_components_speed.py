"""How long variance components take, beside lme4 in the same run."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from scoring.variation.components import Components, variance_components
from tests.lme4 import bring_lme4, run_r


def test_forty_thousand_rows_beside_lme4(tmp_path: Path) -> None:
    random = np.random.default_rng(1)
    o, s = np.repeat(np.arange(200), 200), np.tile(np.repeat(np.arange(40), 5), 200)
    y = random.normal(size=200)[o] * 0.5 + random.normal(size=40)[s] + random.normal(size=40000)
    times = []
    for _ in range(5):
        start = time.perf_counter()
        fit = variance_components(y, {"o": o, "s": s}, intervals=False)
        times.append(time.perf_counter() - start)
    assert isinstance(fit, Components)
    print(f"\nours: {min(times) * 1000:.1f} ms for 40,000 rows")
    program = bring_lme4()
    if program is None:
        return
    np.savetxt(tmp_path / "d.csv", np.column_stack([y, o, s]), delimiter=",", fmt="%.17g")
    theirs = run_r(
        "d <- read.csv('d.csv', header = FALSE); d$o <- factor(d$V2); d$s <- factor(d$V3)\n"
        "t <- system.time(m <- lmer(V1 ~ 1 + (1 | o) + (1 | s), d))[['elapsed']]\n"
        "v <- as.data.frame(VarCorr(m)); answer(list(t = t, v = v$vcov, crit = REMLcrit(m)))",
        folder=tmp_path,
        rscript=program,
    )
    print(f"lme4: {theirs['t'] * 1000:.0f} ms; {theirs['t'] / min(times):.1f} times ours")
    ours = [fit.variances[name].value for name in ("o", "s", "residual")]
    assert ours == pytest.approx(theirs["v"], rel=1e-3)
    assert fit.criterion <= theirs["crit"] + 1e-6
    assert min(times) < theirs["t"]
