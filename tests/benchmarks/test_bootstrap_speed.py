"""1,000 replicates of a fitted model: one process, all cores, and what it chooses itself."""

from __future__ import annotations

import os
import time

import numpy as np

from scoring.evidence import TooLittleEvidence
from scoring.variation.binomial import fit_binomial
from scoring.variation.bootstrap import Bootstrap, Table, bootstrap


def spread(table: Table) -> float | TooLittleEvidence:
    """Return how far operators differ, logit scale."""
    groups = {name: table[name].tolist() for name in ("operator", "scenario")}
    fit = fit_binomial(table["right"], table["answers"], groups=groups)
    return fit if isinstance(fit, TooLittleEvidence) else fit.sds["operator"]


def test_all_cores_against_one() -> None:
    rng = np.random.default_rng(2026)
    o, s = np.indices((48, 12)).reshape(2, -1)
    eta = 1.2 + rng.normal(0, 0.8, 48)[o] + rng.normal(0, 0.6, 12)[s]
    table = {
        "operator": o,
        "scenario": s,
        "right": rng.binomial(5, 1 / (1 + np.exp(-eta))),
        "answers": np.full(len(o), 5),
    }
    taken, found = {}, {}
    cores = max(2, os.cpu_count() or 1)
    for workers in (1, cores, None):
        begun = time.perf_counter()
        one = bootstrap(spread, table, seed=1, method="percentile", workers=workers)
        taken[workers] = time.perf_counter() - begun
        assert isinstance(one, Bootstrap)
        found[workers] = one
    assert (found[1].replicates == found[cores].replicates).all()
    assert (found[1].replicates == found[None].replicates).all()
    print(
        f"\n1,000 fits of 48 x 12: one process {taken[1]:.1f} s; {cores} processes "
        f"{taken[cores]:.1f} s, {taken[1] / taken[cores]:.2f} times as fast; as it chose itself "
        f"({found[None].workers}) {taken[None]:.1f} s, {taken[1] / taken[None]:.2f} times as fast "
        f"({os.cpu_count()} cores, starting the processes counted)"
    )
    # On a busy machine the second core may not be free; it must not be much slower then.
    assert taken[None] < 10.0 * taken[1]
