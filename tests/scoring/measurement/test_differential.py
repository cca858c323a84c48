"""Items that are unequally hard for two groups: by hand, another program, level and power."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.stats.contingency_tables import StratifiedTable

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.differential import (
    Differential,
    mantel_haenszel,
    rasch_differential,
)

DIFFICULTY = np.linspace(-1.5, 1.5, 12)
GROUP = ["north"] * 150 + ["south"] * 150


def simulated(
    rng: np.random.Generator, shift: float = 0.0, impact: float = 0.7, n: int = 150
) -> np.ndarray:
    """Answers of two sites that differ in ability; item 4 is harder at the second by `shift`."""
    ability = np.concatenate([rng.normal(size=n), -impact + rng.normal(size=n)])
    difficulty = np.tile(DIFFICULTY, (2 * n, 1))
    difficulty[n:, 3] += shift
    return (rng.random(difficulty.shape) < 1 / (1 + np.exp(difficulty - ability[:, None]))).astype(
        float
    )


def test_agrees_with_another_program() -> None:
    table = simulated(np.random.default_rng(1), 0.8)
    found = mantel_haenszel(table, GROUP)
    assert isinstance(found, dict)
    score = table.sum(axis=1)
    for column in range(12):
        strata = []
        for level in np.unique(score):
            here = score == level
            cells = [
                [np.sum(table[here & (np.array(GROUP) == site), column] == answer)
                 for answer in (1, 0)]
                for site in ("north", "south")
            ]  # fmt: skip
            cell = np.array(cells, dtype=float)
            if (cell.sum(axis=0) > 0).all() and (cell.sum(axis=1) > 0).all():
                strata.append(cell)
        other = StratifiedTable(strata)
        one = found[column + 1]
        assert isinstance(one, Differential)
        assert one.log_odds.value == pytest.approx(other.logodds_pooled)
        low, high = other.logodds_pooled_confint()
        assert one.log_odds.low == pytest.approx(low)
        assert one.log_odds.high == pytest.approx(high)
        tested = other.test_null_odds(correction=True)
        assert one.statistic == pytest.approx(tested.statistic)
        assert one.p_value == pytest.approx(tested.pvalue)
        assert one.delta.value == pytest.approx(-2.35 * other.logodds_pooled)
        plain = mantel_haenszel(table, GROUP, continuity=False)
        assert isinstance(plain, dict)
        two = plain[column + 1]
        assert isinstance(two, Differential)
        assert two.statistic == pytest.approx(other.test_null_odds().statistic)


@pytest.mark.parametrize(("compare", "times"), [(mantel_haenszel, 300), (rasch_differential, 120)])
def test_without_difference_intervals_cover_and_flags_are_rare(compare, times: int) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(2)
    inside, flagged = [], []
    for _ in range(times):
        found = list(compare(simulated(rng), GROUP).values())
        kept = [one for one in found if isinstance(one, Differential)]
        inside += [one.log_odds.low < 0 < one.log_odds.high for one in kept]
        flagged.append(any(one.q_value < 0.05 for one in kept))
    # At least 1,000 intervals each; the two sites differ in ability by 0.7 all the while.
    assert len(inside) >= 1000
    assert 0.93 <= np.mean(inside) <= 0.97
    assert np.mean(flagged) <= 0.05 + 2 * np.sqrt(0.05 * 0.95 / times)


@pytest.mark.parametrize("compare", [mantel_haenszel, rasch_differential])
def test_an_item_that_differs_is_found_and_the_sign_is_right(compare) -> None:  # type: ignore[no-untyped-def]
    table = simulated(np.random.default_rng(3), 1.2, n=1000)
    group = ["north"] * 1000 + ["south"] * 1000
    found = compare(table, group)
    worst = min(found, key=lambda item: found[item].q_value)
    assert worst == 4
    assert found[4].category == "C"
    assert found[4].log_odds.value == pytest.approx(1.2, abs=0.3)
    assert found[4].delta.value == pytest.approx(-2.35 * found[4].log_odds.value)
    assert found[4].delta.low <= found[4].delta.value <= found[4].delta.high
    turned = compare(table[::-1], group[::-1], reference="south")
    assert turned[4].log_odds.value == pytest.approx(-found[4].log_odds.value, abs=1e-6)
    assert turned[4].n_reference == found[4].n_focal
    assert [found[item].category for item in (1, 2, 8, 12)] == ["A"] * 4


def test_categories_follow_size_and_certainty() -> None:
    # One stratum: odds ratio known by hand.
    def one(right: int, focal: int, n: int) -> Differential:
        table = [[1]] * right + [[0]] * (n - right) + [[1]] * focal + [[0]] * (n - focal)
        found = mantel_haenszel(
            table, ["a"] * n + ["b"] * n, matching=np.zeros(2 * n), continuity=False
        )
        assert isinstance(found, dict)
        kept = found[1]
        assert isinstance(kept, Differential)
        return kept

    assert one(500, 450, 1000).category == "A"  # delta -0.47
    assert one(600, 470, 1000).category == "B"  # delta -1.24
    assert one(700, 470, 1000).category == "C"  # delta -2.27
    assert one(14, 9, 20).category == "A"  # delta -1.5, by chance
    assert one(64, 47, 100).category == "B"  # delta -1.6, not surely beyond 1
    assert one(500, 500, 1000).log_odds.value == 0


def test_forms_are_matched_within_themselves() -> None:
    table = simulated(np.random.default_rng(4), n=150)
    table[::2, 8:] = np.nan
    table[1::2, :4] = np.nan
    for compare in (mantel_haenszel, rasch_differential):
        found = compare(table, GROUP)
        assert isinstance(found, dict)
        one = found[1]
        assert isinstance(one, Differential)
        assert one.n_reference == 75 or compare is rasch_differential


def test_too_little_and_refusals() -> None:
    table = simulated(np.random.default_rng(5))
    table[:, 0] = 1
    table[:150, 1] = 0
    for compare in (mantel_haenszel, rasch_differential):
        found = compare(table, GROUP)
        assert isinstance(found, dict)
        assert isinstance(found[1], TooLittleEvidence)
        assert isinstance(found[2], TooLittleEvidence)
        assert isinstance(found[3], Differential)
        few = compare(table[145:], GROUP[145:])
        assert isinstance(few, TooLittleEvidence)
        assert few.missing == "persons"
        with pytest.raises(DataError, match="two groups"):
            compare(table, ["one"] * 300)
        with pytest.raises(DataError, match="300, one for each row"):
            compare(table, ["one", "two"])
        with pytest.raises(DataError, match="reference"):
            compare(table, GROUP, reference="west")
        with pytest.raises(ValueError, match="confidence"):
            compare(table, GROUP, confidence=0)
    with pytest.raises(DataError, match="matching"):
        mantel_haenszel(table, GROUP, matching=[1.0])
    alike = rasch_differential(np.ones((40, 3)), ["a"] * 20 + ["b"] * 20)
    assert isinstance(alike, TooLittleEvidence)
