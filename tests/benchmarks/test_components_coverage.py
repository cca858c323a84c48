"""How often the intervals of variances and shares hold the truth, for crossed designs.

Here and not among the quick tests, because a thousand fits of each take half a minute.
"""

from __future__ import annotations

import numpy as np
import pytest

from scoring.variation.components import Components, variance_components

REPLICATES = 1000
"""Simulated departments; the share that is covered is then known to about 0.7 %."""


@pytest.mark.parametrize(("missing", "shape"), [(0.3, (48, 12, 1)), (0.0, (20, 6, 3))])
def test_intervals_cover(missing: float, shape: tuple[int, int, int]) -> None:
    random = np.random.default_rng(21)
    truth = {"operator": 0.5, "scenario": 0.4, "residual": 1.0}
    if shape[2] > 1:
        truth["pair"] = 0.3
    hits: dict[tuple[str, str], int] = {("mean", ""): 0}
    for _ in range(REPLICATES):
        o, s, _ = (axis.ravel() for axis in np.indices(shape))
        kept = random.random(len(o)) >= missing
        codes = {"operator": o[kept], "scenario": s[kept]}
        if "pair" in truth:
            codes["pair"] = (o * shape[1] + s)[kept]
        y = random.normal(size=int(kept.sum()))
        for name, code in codes.items():
            y += truth[name] ** 0.5 * random.normal(size=int(code.max()) + 1)[code]
        fit = variance_components(y, codes)
        assert isinstance(fit, Components)
        mean = fit.fixed[0].estimate
        hits["mean", ""] += mean.low <= 0 <= mean.high  # type: ignore[operator]
        for name, value in truth.items():
            share = value / sum(truth.values())
            for kind, told, wanted in (
                ("variance", fit.variances[name], value),
                ("share", fit.shares[name], share),
            ):
                inside = told.low <= wanted <= told.high  # type: ignore[operator]
                hits[kind, name] = hits.get((kind, name), 0) + inside
    print(f"\n{shape}, {missing:.0%} missing")
    for (kind, name), count in hits.items():
        print(f"  {kind} {name}: {count / REPLICATES:.3f}")
    assert all(0.93 <= count / REPLICATES <= 0.97 for count in hits.values())
