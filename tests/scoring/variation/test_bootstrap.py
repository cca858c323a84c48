"""The cluster bootstrap: the same on any number of processes, stopped when asked, and right."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.bootstrap import Bootstrap, CancelledError, Table, bootstrap

Array = npt.NDArray[Any]


def mean(table: Table) -> float:
    return float(np.mean(table["credit"]))


def mean_and_people(table: Table) -> list[float]:
    return [float(np.mean(table["credit"])), float(len(np.unique(table["operator"])))]


def now_more_now_fewer(table: Table) -> list[float]:
    return [1.0] * (1 + int(np.sum(table["credit"])) % 3)


def seldom(table: Table) -> float | TooLittleEvidence:
    if np.mean(table["credit"]) > 0.6:
        return TooLittleEvidence("test", "Too much.")
    return float(np.mean(table["credit"]))


def fails(table: Table) -> float:
    raise ZeroDivisionError(f"of {len(table)} columns")


def answers(seed: int, people: int = 20, each: int = 6) -> dict[str, Array]:
    rng = np.random.default_rng(seed)
    rate = rng.beta(4, 3, people)
    who = np.repeat([f"OP-{k:03}" for k in range(people)], each)
    return {"operator": who, "credit": rng.binomial(1, np.repeat(rate, each))}


def told(*arguments: Any, **keywords: Any) -> Bootstrap:
    found = bootstrap(*arguments, **keywords)
    assert isinstance(found, Bootstrap), found
    return found


def test_several_processes_give_what_one_gives() -> None:
    table = answers(1)
    seen: list[tuple[int, int]] = []
    one = told(mean_and_people, table, seed=5, replicates=60, workers=1)
    two = told(
        mean_and_people, table, seed=5, replicates=60, workers=2,
        progress=lambda done, total: seen.append((done, total)),
    )  # fmt: skip
    assert (one.workers, two.workers) == (1, 2)
    assert (one.replicates == two.replicates).all()
    assert one.estimates == two.estimates
    total = 60 + 20  # draws, and each person left out once
    assert seen[-1] == (total, total)
    assert [done for done, _ in seen] == sorted({done for done, _ in seen})


def test_a_statistic_that_cannot_travel_is_done_here() -> None:
    table = answers(2)
    here = told(lambda t: float(np.mean(t["credit"])), table, seed=1, replicates=30, workers=2)
    assert here.workers == 1
    assert (here.replicates == told(mean, table, seed=1, replicates=30, workers=1).replicates).all()


def test_draws_are_of_people_with_all_their_answers() -> None:
    """Against a plain loop with the same random streams."""
    table = answers(3, people=7, each=3)
    found = told(mean, table, seed=9, replicates=20, workers=1)
    by_person = table["credit"].reshape(7, 3)
    for k, stream in enumerate(np.random.SeedSequence(9).spawn(20)):
        drawn = np.random.default_rng(stream).integers(0, 7, 7)
        assert found.replicates[k, 0] == pytest.approx(by_person[drawn].mean())
    order = np.random.default_rng(0).permutation(21)
    mixed = {name: values[order] for name, values in table.items()}
    again = told(mean, mixed, seed=9, replicates=20, workers=1)
    assert again.replicates == pytest.approx(found.replicates)


def test_someone_drawn_twice_is_two_people() -> None:
    found = told(mean_and_people, answers(4), seed=1, replicates=15, method="percentile", workers=1)
    assert (found.replicates[:, 1] == 20).all()
    assert found.estimates[1].low is None


def variance(table: Table) -> float:
    return float(np.var(table["credit"]))


def test_bca_equals_that_of_another_program() -> None:
    """The same formula on the same kind of draws; only the draws differ."""
    rng = np.random.default_rng(6)
    values = rng.exponential(1.0, 25)
    table = {"operator": np.arange(25), "credit": values}
    ours = told(variance, table, seed=1, replicates=4000, workers=1).estimates[0]
    theirs = stats.bootstrap(
        (values,), np.var, n_resamples=20000, rng=np.random.default_rng(2), method="BCa"
    ).confidence_interval
    assert ours.low == pytest.approx(theirs.low, rel=0.06)
    assert ours.high == pytest.approx(theirs.high, rel=0.06)
    plain = told(variance, table, seed=1, replicates=4000, workers=1, method="percentile")
    assert plain.estimates[0].low != ours.low


def test_intervals_cover_what_the_docstring_of_the_method_leads_to_expect() -> None:
    """Means of 30 people: a percentile interval is that of plus and minus about 1.93 errors."""
    hits = []
    for seed in range(150):
        found = told(
            mean, answers(1000 + seed, people=30), seed=seed, replicates=150,
            method="percentile", workers=1,
        ).estimates[0]  # fmt: skip
        assert found.low is not None
        assert found.high is not None
        hits.append(found.low <= 4 / 7 <= found.high)
    assert 0.89 <= np.mean(hits) <= 0.98


@pytest.mark.parametrize("workers", [1, 2])
def test_it_stops_when_asked(workers: int) -> None:
    done: list[int] = []
    with pytest.raises(CancelledError, match="stopped after"):
        bootstrap(
            mean, answers(7), seed=1, replicates=400, workers=workers,
            progress=lambda now, total: done.append(now), cancelled=lambda: len(done) >= 2,
        )  # fmt: skip
    assert done[-1] < 420


def test_what_the_statistic_raises_is_raised() -> None:
    with pytest.raises(ZeroDivisionError):
        bootstrap(fails, answers(8), seed=1, replicates=10, workers=1)


@pytest.mark.parametrize(
    ("statistic", "table", "missing"),
    [
        (mean, answers(9, people=4), "operator"),
        (mean, {"operator": [], "credit": []}, "rows"),
        (seldom, {"operator": range(6), "credit": [1, 1, 1, 0, 0, 0]}, "replicates"),
        (seldom, {"operator": range(6), "credit": [1] * 6}, "figure"),
    ],
)
def test_too_little_is_said(statistic: Any, table: Any, missing: str) -> None:
    found = bootstrap(statistic, table, seed=1, replicates=50, workers=1)
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


@pytest.mark.parametrize(
    ("table", "item"),
    [
        ({"credit": [1.0]}, "operator"),
        ({"operator": ["a", "b"], "credit": [1.0]}, "credit"),
        ({"operator": ["a", None], "credit": [1.0, 2.0]}, "operator, row 2"),
    ],
)
def test_faults_in_the_data_are_named(table: Any, item: str) -> None:
    with pytest.raises(DataError) as caught:
        bootstrap(mean, table, seed=1, workers=1)
    assert caught.value.item == item


def test_parameters_and_statistics_outside_their_range() -> None:
    for change in ({"replicates": 1}, {"workers": 0}, {"confidence": 1.0}):
        keywords: dict[str, Any] = {"seed": 1} | change
        with pytest.raises(ValueError, match="wanted"):
            bootstrap(mean, answers(10), **keywords)
    with pytest.raises(ValueError, match="figures"):
        bootstrap(now_more_now_fewer, answers(11), seed=1, replicates=20, workers=1)
