"""How long variance components take, beside lme4 in the same run, and with millions of rows."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from scoring.variation.components import Components, variance_components
from tests.lme4 import bring_lme4, run_r


def timed(rows: object, factors: object, repeats: int, **options: bool) -> tuple[float, Components]:
    """Return the least seconds of several fits, and the fit."""
    times, fit = [], None
    for _ in range(repeats):
        start = time.perf_counter()
        fit = variance_components(rows, factors, **options)  # type: ignore[arg-type]
        times.append(time.perf_counter() - start)
    assert isinstance(fit, Components)
    return min(times), fit


def test_forty_thousand_rows_beside_lme4(tmp_path: Path) -> None:
    random = np.random.default_rng(1)
    o, s = np.repeat(np.arange(200), 200), np.tile(np.repeat(np.arange(40), 5), 200)
    y = random.normal(size=200)[o] * 0.5 + random.normal(size=40)[s] + random.normal(size=40000)
    least, fit = timed(y, {"o": o, "s": s}, 5, intervals=False)
    with_intervals, _ = timed(y, {"o": o, "s": s}, 2)
    print(f"\nours: {least * 1000:.1f} ms for 40,000 rows; {with_intervals * 1000:.0f} ms with")
    print("the intervals of all variances and shares")
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
    print(f"lme4: {theirs['t'] * 1000:.0f} ms; {theirs['t'] / least:.1f} times ours")
    ours = [fit.variances[name].value for name in ("o", "s", "residual")]
    assert ours == pytest.approx(theirs["v"], rel=1e-3)
    assert fit.criterion <= theirs["crit"] + 1e-6
    assert least < theirs["t"]


def test_seven_million_rows() -> None:
    random = np.random.default_rng(2)
    o, s = np.nonzero(random.random((50_000, 200)) > 0.3)
    y = 0.5 * random.normal(size=50_000)[o] + 0.4 * random.normal(size=200)[s]
    y += random.normal(size=len(o))
    spent = time.process_time()
    least, fit = timed(y, {"operator": o, "scenario": s}, 4, intervals=False)
    spent = (time.process_time() - spent) / 4
    print(f"\n{len(o):,} rows of 50,000 operators x 200 scenarios: {least:.2f} s, {spent:.2f} s of")
    print("processor time on average, from codes of the rows to the estimates")
    assert fit.variances["operator"].value == pytest.approx(0.25, rel=0.03)
    assert fit.variances["residual"].value == pytest.approx(1.0, rel=0.005)
    assert least < 20


@pytest.mark.parametrize(("missing", "shape"), [(0.0, (20, 6, 3)), (0.3, (48, 12, 1))])
def test_intervals_of_a_department(missing: float, shape: tuple[int, int, int]) -> None:
    random = np.random.default_rng(3)
    o, s, _ = (axis.ravel() for axis in np.indices(shape))
    kept = random.random(len(o)) >= missing
    o, s = o[kept], s[kept]
    y = random.normal(size=shape[0])[o] + random.normal(size=shape[1])[s]
    y += random.normal(size=len(o))
    factors = {"operator": o, "scenario": s}
    if shape[2] > 1:
        pair = o * shape[1] + s
        y += random.normal(size=shape[0] * shape[1])[pair]
        factors["operator:scenario"] = pair
    least, _ = timed(y, factors, 10)
    bare, _ = timed(y, factors, 10, intervals=False)
    print(
        f"\n{shape}, {missing:.0%} missing: {bare * 1000:.1f} ms, with intervals {least * 1000:.1f}"
    )
    assert least < 2
