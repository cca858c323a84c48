"""Severity of raters on scores and on yes-or-no items."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize  # type: ignore[import-untyped]
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.rater_logit import rater_severity_logit
from scoring.measurement.rater_severity import rater_severity
from scoring.measurement.severity import RaterSeverity, SeverityStudy, between

RATERS = 4
PAIRS = list(combinations(range(RATERS), 2))


def rows(persons: int = 24, items: int = 3) -> tuple[list[int], list[int], list[int]]:
    """Return rater, person and item of a design in which two raters see each person."""
    held = [
        (rater, person, item)
        for person in range(persons)
        for item in range(items)
        for rater in PAIRS[person % len(PAIRS)]
    ]
    rater, person, item = (list(column) for column in zip(*held, strict=True))
    return rater, person, item


def made(
    seed: int, severities: Any = (0.0, 0.0, 0.0, 0.0), persons: int = 24, noise: float = 1.0
) -> tuple[np.ndarray, list[int], list[int], list[int]]:
    draw = np.random.default_rng(seed)
    rater, person, item = rows(persons)
    ability = draw.normal(size=persons)
    straight = ability[person] + np.array([0.0, 1.0, -1.0])[item] - np.array(severities)[rater]
    return straight + noise * draw.normal(size=len(rater)), rater, person, item


def yes_no(
    seed: int, severities: Any = (0.0, 0.0, 0.0, 0.0), persons: int = 24
) -> tuple[np.ndarray, list[int], list[int], list[int]]:
    straight, rater, person, item = made(seed, severities, persons, noise=0.0)
    draw = np.random.default_rng(seed + 1_000_000)
    return (draw.random(len(rater)) < expit(straight)).astype(float), rater, person, item


def found(study: SeverityStudy | TooLittleEvidence) -> SeverityStudy:
    assert isinstance(study, SeverityStudy), study
    return study


def one(study: SeverityStudy, label: Any) -> RaterSeverity:
    held = study.raters[label]
    assert isinstance(held, RaterSeverity), held
    return held


def dummies(codes: Any) -> np.ndarray:
    return np.asarray(np.eye(max(codes) + 1)[codes])


def test_fixed_persons_are_dense_least_squares() -> None:
    scores, rater, person, item = made(1, (0.5, 0, 0, -0.5))
    design = np.hstack([dummies(rater), dummies(person), dummies(item)])
    by_hand, _, rank, _ = np.linalg.lstsq(design, scores, rcond=None)
    left = scores - design @ by_hand
    error = left @ left / (len(scores) - rank)
    inverse = np.linalg.pinv(design.T @ design)
    contrast = np.eye(RATERS) - 1 / RATERS
    wanted = -contrast @ by_hand[:RATERS]
    wide = np.sqrt(np.diag(contrast @ inverse[:RATERS, :RATERS] @ contrast) * error)
    hat = np.eye(len(scores)) - design @ inverse @ design.T
    study = found(rater_severity(scores, rater, person, item))
    for k in range(RATERS):
        held = one(study, k)
        assert held.severity.value == pytest.approx(wanted[k])
        assert held.standard_error == pytest.approx(wide[k])
        at = np.flatnonzero(np.array(rater) == k)
        assert held.misfit == pytest.approx((left[at] ** 2).sum() / (error * hat[at, at].sum()))
        assert held.persons == 12
        assert held.ratings == 36


def test_random_persons_are_dense_restricted_likelihood() -> None:
    scores, rater, person, item = made(2, (0.5, 0, 0, -0.5), persons=12)
    fixed = np.hstack([dummies(rater), dummies(item)[:, 1:]])
    shared = dummies(person) @ dummies(person).T

    def at(ratio: float) -> tuple[float, np.ndarray]:
        inverse = np.linalg.inv(np.eye(len(scores)) + ratio * shared)
        small = fixed.T @ inverse @ fixed
        solved = np.linalg.solve(small, fixed.T @ inverse @ scores)
        left = scores - fixed @ solved
        freedom = len(scores) - fixed.shape[1]
        value = freedom * np.log(left @ inverse @ left) - np.linalg.slogdet(inverse)[1]
        return float(value + np.linalg.slogdet(small)[1]), solved[:RATERS]

    best = optimize.minimize_scalar(lambda log: at(np.exp(log))[0], bracket=(-1, 1)).x
    wanted = at(float(np.exp(best)))[1]
    study = found(rater_severity(scores, rater, person, item, effects_of_persons="random"))
    for k in range(RATERS):
        assert one(study, k).severity.value == pytest.approx(wanted.mean() - wanted[k], abs=1e-3)


def test_logit_is_the_best_marginal_likelihood() -> None:
    scores, rater, person, item = yes_no(3, (1.0, 0, 0, -1.0))
    study = found(rater_severity_logit(scores, rater, person, item))
    severity = np.array([one(study, k).severity.value for k in range(RATERS)])
    assert severity.sum() == pytest.approx(0, abs=1e-6)

    # The likelihood by another quadrature, as it stands; nothing near is better.
    nodes = np.linspace(-8, 8, 401)

    def minus(theta: np.ndarray) -> float:
        eta = (-theta[:3][item] - theta[3:7][rater])[:, None] + np.exp(theta[7]) * nodes
        each = np.log(expit((2 * scores - 1)[:, None] * eta))
        inside = norm.pdf(nodes) * np.exp(dummies(person).T @ each)
        return -float(np.log(integrate.simpson(inside, x=nodes)).sum())

    share = np.bincount(item, scores) / np.bincount(item)
    start = np.concatenate([-np.log(share / (1 - share)), severity, [0.0]])

    def free(part: np.ndarray) -> float:
        return minus(np.concatenate([part[:3], severity, part[3:]]))

    others = optimize.minimize(free, start[[0, 1, 2, 7]], method="BFGS", options={"gtol": 1e-3}).x
    best = np.concatenate([others[:3], severity, others[3:]])
    middle = minus(best)
    for k in range(RATERS):
        step = np.zeros(8)
        step[3 + k] = 0.05
        slope = (minus(best + step) - minus(best - step)) / 0.1
        assert abs(slope) < 0.05
        assert minus(best + step) > middle


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 500), st.floats(-9, 9), st.sampled_from(["fixed", "random"]))
def test_origin_order_and_names_do_not_matter(seed: int, shift: float, persons: Any) -> None:
    scores, rater, person, item = made(seed)
    first = found(rater_severity(scores, rater, person, item, effects_of_persons=persons))
    order = np.random.default_rng(seed).permutation(len(scores))
    second = found(
        rater_severity(
            scores[order] + shift,
            [f"r{9 - rater[k]}" for k in order],
            [f"p{99 - person[k]}" for k in order],
            [f"i{item[k]}" for k in order],
            effects_of_persons=persons,
        )
    )
    assert list(second.raters) == sorted(second.raters, key=str)
    for k in range(RATERS):
        left, right = one(first, k), one(second, f"r{9 - k}")
        assert left.severity.value == pytest.approx(right.severity.value, abs=1e-4)
        assert left.standard_error == pytest.approx(right.standard_error, rel=1e-3)
        assert left.severity.low is not None
        assert left.severity.high is not None
        assert left.severity.low <= left.severity.value <= left.severity.high


def test_who_is_rated_does_not_make_a_rater_severe() -> None:
    scores, rater, person, item = made(5, (0, 0, 0, 0), noise=0.05)
    weak = np.array([who % len(PAIRS) < 3 for who in person])
    study = found(rater_severity(scores - 5 * weak, rater, person, item))
    assert all(abs(one(study, k).severity.value) < 0.05 for k in range(RATERS))
    plain = [(scores - 5 * weak)[np.array(rater) == k].mean() for k in range(RATERS)]
    assert max(plain) - min(plain) > 1


def test_a_severe_and_a_lenient_rater_are_flagged() -> None:
    for study in (
        found(rater_severity(*made(6, (1.0, 0, 0, -1.0), persons=60))),
        found(rater_severity_logit(*yes_no(6, (2.0, 0, 0, -2.0), persons=60))),
    ):
        assert [one(study, k).flag for k in (0, 3)] == ["severe", "lenient"]
        assert study.p_value < 0.001
        assert isinstance(study.spread, Estimate)
        assert study.spread.low is not None
        assert study.spread.low > 0
        assert study.linked


def test_an_erratic_rater_is_inconsistent() -> None:
    scores, rater, person, item = made(7, persons=60)
    erratic = np.array(rater) == 2
    scores = scores + 2.5 * np.random.default_rng(1).normal(size=len(scores)) * erratic
    study = found(rater_severity(scores, rater, person, item))
    assert [k for k in range(RATERS) if one(study, k).inconsistent] == [2]


def test_raters_who_share_nobody() -> None:
    scores, rater, person, item = made(8)
    apart = [who + 100 * (k // 2) for k, who in zip(rater, person, strict=True)]
    study = rater_severity(scores, rater, apart, item)
    assert isinstance(study, TooLittleEvidence)
    assert study.missing == "links"
    assert "0, 1; 2, 3" in study.said
    random = found(rater_severity(scores, rater, apart, item, effects_of_persons="random"))
    assert not random.linked
    assert "by chance" in random.said[-1]
    # One rater alone does not spoil the others.
    alone = [who + 100 * (k == 3) for k, who in zip(rater, person, strict=True)]
    most = found(rater_severity(scores, rater, alone, item))
    held = most.raters[3]
    assert isinstance(held, TooLittleEvidence)
    assert held.missing == "links"
    assert one(most, 0).ratings == 36
    # A rater with items and persons of his own cannot be told from them.
    own = [what + 10 * k for k, what in zip(rater, item, strict=True)]
    confounded = rater_severity_logit((scores > 0).astype(float), rater, person, own)
    assert isinstance(confounded, TooLittleEvidence)
    assert confounded.missing == "links"


def test_too_little() -> None:
    scores, rater, person, item = made(9)
    study = found(
        rater_severity([*scores, 1.0], [*rater, 9], [*person, 0], [*item, 0], confidence=0.9)
    )
    held = study.raters[9]
    assert isinstance(held, TooLittleEvidence)
    assert held.said == "Rater 9 rated 1 person; at least 3 are needed."
    assert sum(one(study, k).severity.value for k in range(RATERS)) == pytest.approx(0)

    def missing(study: Any) -> str:
        assert isinstance(study, TooLittleEvidence)
        return study.missing

    assert missing(rater_severity([1, 2, 3], ["a"] * 3, [1, 2, 3])) == "raters"
    assert missing(rater_severity([], [], [])) == "raters"
    assert missing(rater_severity([np.nan] * 2, ["a", "b"], [1, 1])) == "raters"
    assert missing(rater_severity(np.ones(len(rater)), rater, person, item)) == "variance"
    assert missing(rater_severity_logit(np.ones(len(rater)), rater, person, item)) == "variance"
    assert missing(rater_severity_logit([], [], [])) == "raters"
    same, rater, person, item = yes_no(9)
    same[np.array(rater) == 1] = 1.0
    study = found(rater_severity_logit(same, rater, person, item))
    held = study.raters[1]
    assert isinstance(held, TooLittleEvidence)
    assert "only yes" in held.said
    two = rater_severity(scores[:6], [0, 1] * 3, [0, 0, 1, 1, 2, 2])
    assert isinstance(found(two).spread, TooLittleEvidence)


def test_faults() -> None:
    with pytest.raises(DataError, match="one rating"):
        rater_severity([1, 2], ["a", "a"], [1, 1])
    with pytest.raises(DataError, match="0 or 1"):
        rater_severity_logit([1, 2], ["a", "b"], [1, 1])
    with pytest.raises(DataError, match="finite"):
        rater_severity([1, np.inf], ["a", "b"], [1, 1])
    with pytest.raises(DataError, match="one for each"):
        rater_severity([1, 2], ["a"], [1, 1])
    with pytest.raises(DataError, match="a label"):
        rater_severity([1, 2], ["a", None], [1, 1])


def test_spread_by_brute_force() -> None:
    severity = np.array([0.5, -0.3, 0.2, -0.4])
    covariance = (np.eye(4) - 0.25) * 0.01
    found_spread, chance = between(severity, covariance, float("inf"), 0.95)
    assert isinstance(found_spread, Estimate)
    # Equal variances: the usual mean square less the error.
    assert found_spread.value**2 == pytest.approx(severity.var(ddof=1) - 0.01)
    assert chance < 1e-6


def simulated(
    replicates: int, severities: tuple[float, ...], logit: bool
) -> tuple[float, float, float]:
    """Return how often intervals cover, any rater is flagged, the spread's interval covers."""
    true = np.array(severities)
    covered, flagged, spread, told = 0, 0, 0, 0
    for k in range(replicates):
        study = found(
            rater_severity_logit(*yes_no(k, true, 40)) if logit else rater_severity(*made(k, true))
        )
        for j in range(RATERS):
            held = one(study, j).severity
            assert held.low is not None
            assert held.high is not None
            covered += held.low <= true[j] - true.mean() <= held.high
            told += 1
        flagged += any(one(study, j).flag != "none" for j in range(RATERS))
        assert isinstance(study.spread, Estimate)
        assert study.spread.low is not None
        spread += study.spread.low <= true.std(ddof=1)
    return covered / told, flagged / replicates, spread / replicates


def test_intervals_cover_and_flags_are_rare_without_difference() -> None:
    covered, flagged, spread = simulated(1000, (0.0, 0.0, 0.0, 0.0), logit=False)
    assert 0.93 <= covered <= 0.97
    assert flagged <= 0.065  # 0.05 and two standard errors
    assert spread >= 0.95


def test_logit_intervals_cover() -> None:
    # A fit costs some hundredths of a second, so fewer replicates and a wider allowance.
    covered, flagged, _ = simulated(60, (0.5, 0.0, 0.0, -0.5), logit=True)
    assert 0.89 <= covered <= 0.99
    assert flagged > 0.1
