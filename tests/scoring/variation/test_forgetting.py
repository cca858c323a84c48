"""Forgetting curves: the planted expiry is covered, and where nothing shows nothing is proposed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.variation.forgetting import ForgettingCurve, Limit, forgetting_curve

FAR, CHANGE, TAU, WANTED = 0.4, 1.6, 6.0, 0.75


def away(seed: int, change: float = CHANGE) -> dict[str, Any]:
    """Thirty people assessed after 0 to 14 months away, at four scenarios each time."""
    rng = np.random.default_rng(seed)
    who = np.repeat(rng.integers(0, 30, 240), 4)
    x = np.repeat(rng.uniform(0, 14, 240).round(), 4)
    s = np.tile(np.arange(4), 240)
    eta = FAR + change * np.exp(-x / TAU)
    eta = eta + rng.normal(0, 0.6, 30)[who] + rng.normal(0, 0.3, 4)[s]
    return {
        "successes": rng.binomial(2, 1 / (1 + np.exp(-eta))),
        "trials": np.full(len(who), 2),
        "months": x,
        "operators": [f"OP-{k:03}" for k in who],
        "scenarios": [f"s{k}" for k in s],
        "wanted": WANTED,
        "expiry_months": 12.0,
    }


def told(**arguments: Any) -> ForgettingCurve:
    found = forgetting_curve(**arguments)
    assert isinstance(found, ForgettingCurve), found
    return found


def inside(found: Estimate | None, truth: float) -> bool:
    assert found is not None
    assert found.low is not None
    assert found.high is not None
    return found.low <= truth <= found.high


def test_the_planted_expiry_is_covered() -> None:
    until = TAU * np.log(CHANGE / (np.log(3) - FAR))
    hits = []
    for seed in range(10):
        found = told(**away(seed))
        assert found.forgetting
        assert found.reach == 14.0
        months = found.average.months
        hits.append(
            (
                inside(months, until),
                inside(found.change, CHANGE * (np.exp(-14 / TAU) - 1)),
                inside(found.fresh, 1 / (1 + np.exp(-FAR - CHANGE))),
            )
        )
        assert months is not None
        assert found.average.careful == months.low
        assert found.most.months is not None
        assert found.most.months.value <= months.value <= 12.0
    assert (np.mean(hits, axis=0) >= 0.7).all()


def test_the_proposal_is_where_the_curve_crosses_the_wanted_rate() -> None:
    found = told(**away(1))
    assert found.average.limit is Limit.RATE
    assert found.average.months is not None
    there = found.rate([found.average.months.value])[0]
    assert there.value == pytest.approx(WANTED)
    assert there.low is not None
    assert there.high is not None
    assert there.low < WANTED < there.high
    fit = found.curve.fits[found.curve.best]
    stricter = found.most.months
    assert stricter is not None
    if found.most.limit is Limit.RATE:
        rate = found.rate([stricter.value])[0].value
        gap = np.log(rate / (1 - rate)) - np.log(WANTED / (1 - WANTED))
        assert gap == pytest.approx(norm.ppf(0.9) * fit.sds["operator"])
    assert f"{found.average.months.value:.1f} months" in found.average.said


def test_nobody_forgets_and_nothing_is_proposed() -> None:
    claims = 0
    for seed in range(50, 58):
        found = forgetting_curve(**away(seed, change=0.0))
        if isinstance(found, TooLittleEvidence) or found.forgetting:
            claims += 1
            continue
        assert found.average.limit is Limit.CANNOT_TELL
        assert found.average.months is None
        assert "12 months stand" in found.average.said
    assert claims <= 1


@pytest.mark.parametrize(
    ("change", "limit", "value"),
    [
        ({"wanted": 0.3}, Limit.SITE, 12.0),
        ({"wanted": 0.3, "expiry_months": 24.0}, Limit.DATA, 14.0),
        ({"wanted": 0.3, "expiry_months": 3.0}, Limit.SITE, 3.0),
        ({"wanted": 0.99}, Limit.BELOW, 0.0),
    ],
)
def test_what_ends_the_proposal_is_said(change: Any, limit: Limit, value: float) -> None:
    found = told(**(away(2) | change)).average
    assert found.limit is limit
    assert found.months is not None
    assert found.months.value == value
    assert found.months.high == value
    assert found.said.endswith(".")


def test_power_bends_with_the_logarithm() -> None:
    found = told(**away(3), shape="power")
    fit = found.curve.fits[0]
    assert found.change.value == pytest.approx(fit.coefficients[1] * np.log(15))
    assert found.average.months is not None
    assert found.average.months.value == pytest.approx(
        np.expm1((np.log(3) - fit.coefficients[0]) / fit.coefficients[1]), rel=1e-6
    )


def test_a_higher_wanted_rate_or_share_never_lasts_longer() -> None:
    rows = away(4)
    values = []
    for wanted in (0.6, 0.7, 0.8):
        months = told(**(rows | {"wanted": wanted})).average.months
        assert months is not None
        values.append(months.value)
    assert values == sorted(values, reverse=True)
    half = told(**rows, share=0.5)
    assert half.average.months is not None
    assert half.most.months is not None
    assert half.most.months.value == pytest.approx(half.average.months.value)


def test_order_of_rows_changes_nothing() -> None:
    rows = away(5)
    order = np.random.default_rng(0).permutation(960)
    mixed = rows | {
        name: np.asarray(rows[name])[order]
        for name in ("successes", "trials", "months", "operators", "scenarios")
    }
    first, second = told(**rows).average.months, told(**mixed).average.months
    assert first is not None
    assert second is not None
    assert second.value == pytest.approx(first.value, abs=1e-4)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"months": np.full(960, 3.0)}, "months"),
        ({"months": np.full(960, np.nan)}, "months"),
        ({"operators": ["OP-1"] * 960}, "operator"),
        ({"successes": np.full(960, 2)}, "difference"),
    ],
)
def test_too_little_is_said(change: dict[str, Any], missing: str) -> None:
    found = forgetting_curve(**(away(6) | change))
    assert isinstance(found, TooLittleEvidence)
    assert found.missing == missing


def test_months_below_nothing_are_a_fault() -> None:
    with pytest.raises(DataError) as caught:
        forgetting_curve(**(away(7) | {"months": np.full(960, -1.0)}))
    assert caught.value.item == "months, row 1"


@pytest.mark.parametrize(
    "change", [{"wanted": 1.0}, {"expiry_months": 0.0}, {"share": 0.4}, {"share": 1.0}]
)
def test_parameters_outside_their_range(change: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="wanted"):
        forgetting_curve(**(away(8) | change))
