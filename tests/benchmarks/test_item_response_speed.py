"""How long Rasch takes against another program, and at a large cohort's size."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import girth
import numpy as np

from scoring.measurement.differential import mantel_haenszel
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_conditional import rasch_conditional
from scoring.measurement.rasch_fit import item_fit
from scoring.measurement.rasch_persons import person_measures


def simulated(persons: int, items: int, met: float = 1.0) -> np.ndarray:
    rng = np.random.default_rng(1)
    chance = 1 / (1 + np.exp(rng.normal(size=items) - rng.normal(size=persons)[:, None]))
    table = (rng.random(chance.shape) < chance).astype(float)
    table[rng.random(table.shape) >= met] = np.nan
    return table


def seconds(work: Callable[[], object]) -> float:
    """Return the time of the faster of two runs."""
    took = []
    for _ in range(2):
        begun = perf_counter()
        work()
        took.append(perf_counter() - begun)
    return min(took)


def test_as_quick_as_another_program_that_gives_no_errors() -> None:
    table = simulated(2000, 30)
    ours = seconds(lambda: rasch(table))
    whole = table.T.astype(int)
    theirs = seconds(lambda: girth.rasch_mml(whole))
    print(f"\nRasch, 2,000 x 30: {ours:.3f} s, girth {theirs:.3f} s, {theirs / ours:.0f} times")
    # The other gives no spread and no errors. Ten times leaves room for a busy machine.
    assert ours < 10 * theirs


def test_a_large_cohort_takes_seconds() -> None:
    table = simulated(10_000, 200)
    fit = rasch(table)
    assert isinstance(fit, RaschFit)
    gaps = simulated(10_000, 200, met=0.5)
    group = np.where(np.arange(10_000) % 2, "north", "south").tolist()
    took = {
        "marginal": seconds(lambda: rasch(table)),
        "marginal, each person other items": seconds(lambda: rasch(gaps)),
        "conditional": seconds(lambda: rasch_conditional(table)),
        "persons": seconds(lambda: person_measures(table, fit)),
        "fit of items": seconds(lambda: item_fit(fit)),
        "Mantel-Haenszel": seconds(lambda: mantel_haenszel(table, group)),
    }
    for name, time in took.items():
        print(f"10,000 x 200, {name}: {time:.2f} s")
    # A working judgement with room for a busy machine: an idle core needs about 5 s in all.
    assert sum(took.values()) < 600
