"""Signal detection of one person and of all operators: properties, coverage, shrinkage."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import log_ndtr
from scipy.stats import binom, multivariate_normal, norm

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.variation.detection_between import DetectionBetween, detection_between
from scoring.variation.detection_likelihood import posterior
from scoring.variation.signal_detection import SignalDetection, signal_detection

places = st.integers(0, 60)


def known(found: SignalDetection | TooLittleEvidence) -> SignalDetection:
    assert isinstance(found, SignalDetection)
    return found


def fitted(found: DetectionBetween | TooLittleEvidence) -> DetectionBetween:
    assert isinstance(found, DetectionBetween)
    return found


def holds(estimate: Estimate, truth: float) -> bool:
    assert estimate.low is not None
    assert estimate.high is not None
    return estimate.low <= truth <= estimate.high


@given(places, places, places, places, st.sampled_from(["score", "gourevitch"]))
def test_figures_mirror_and_stay_in_order(h: int, m: int, f: int, r: int, kind: Any) -> None:
    found = signal_detection(h, m, f, r, interval=kind)
    if h + m < 5 or f + r < 5:
        assert isinstance(found, TooLittleEvidence)
        return
    one = known(found)
    for held in (one.d_prime, one.criterion, one.ln_beta):
        assert holds(held, held.value)
        assert math.isfinite(held.low or 0.0)
        assert math.isfinite(held.high or 0.0)
    assert one.ln_beta.value == pytest.approx(one.criterion.value * one.d_prime.value)
    assert 0 <= one.a_prime <= 1
    # Calling soiled clean and clean soiled turns the criterion round, not the sensitivity.
    turned = known(signal_detection(r, f, m, h, interval=kind))
    assert turned.d_prime.value == pytest.approx(one.d_prime.value)
    assert turned.criterion.value == pytest.approx(-one.criterion.value)
    assert turned.d_prime.low == pytest.approx(one.d_prime.low)
    more = known(signal_detection(h + 1, m, f, r, interval=kind))
    assert more.d_prime.value > one.d_prime.value


def test_corrections() -> None:
    log_linear = known(signal_detection(10, 0, 2, 18))
    assert log_linear.d_prime.value == pytest.approx(norm.ppf(10.5 / 11) - norm.ppf(2.5 / 21))
    extreme = known(signal_detection(10, 0, 2, 18, correction="extreme"))
    assert extreme.d_prime.value == pytest.approx(norm.ppf(0.95) - norm.ppf(0.1))
    none = signal_detection(10, 0, 2, 18, correction="none")
    assert isinstance(none, TooLittleEvidence)
    assert none.missing == "spread"


def test_too_little_and_faults() -> None:
    assert isinstance(signal_detection(0, 0, 3, 40), TooLittleEvidence)
    assert isinstance(signal_detection(3, 1, 3, 40), TooLittleEvidence)
    assert isinstance(signal_detection(30, 1, 0, 0), TooLittleEvidence)
    for wrong in (-1, 1.5, math.nan, math.inf, "x"):
        with pytest.raises(DataError, match="misses"):
            signal_detection(3, wrong, 3, 4)  # type: ignore[arg-type]


@pytest.mark.parametrize(("signals", "noises"), [(10, 10), (20, 40), (60, 60), (200, 200)])
@pytest.mark.parametrize(("d_prime", "criterion"), [(0.5, 0.0), (1.5, 0.0), (2.5, 0.3), (2, -0.5)])
def test_intervals_cover(signals: int, noises: int, d_prime: float, criterion: float) -> None:
    """Exact coverage: every outcome of up to 1e-6, with its probability."""
    hit, alarm = norm.cdf(d_prime / 2 - criterion), norm.cdf(-d_prime / 2 - criterion)
    if signals * noises > 4000:
        generator = np.random.default_rng(1)
        draws = zip(
            generator.binomial(signals, hit, 1500),
            generator.binomial(noises, alarm, 1500),
            strict=True,
        )
        weighted = [(int(h), int(f), 1 / 1500) for h, f in draws]
    else:
        weighted = [
            (h, f, float(binom.pmf(h, signals, hit) * binom.pmf(f, noises, alarm)))
            for h in range(signals + 1)
            for f in range(noises + 1)
        ]
        weighted = [one for one in weighted if one[2] > 1e-5]
    of_d = of_c = 0.0
    for h, f, chance in weighted:
        found = known(signal_detection(h, signals - h, f, noises - f))
        of_d += chance * holds(found.d_prime, d_prime)
        of_c += chance * holds(found.criterion, criterion)
    assert 0.93 <= of_d <= 0.975
    assert 0.93 <= of_c <= 0.98


def drawn(
    operators: int, signals: int, noises: int, seed: int, spread: float = 0.6
) -> tuple[np.ndarray, list[np.ndarray]]:
    """Return true (d', c) of operators with correlation 0.3, and their four counts."""
    generator = np.random.default_rng(seed)
    together = 0.3 * spread * 0.4
    true = generator.multivariate_normal(
        [1.6, 0.2], [[spread**2, together], [together, 0.16]], operators
    )
    hits = generator.binomial(signals, norm.cdf(true[:, 0] / 2 - true[:, 1]))
    alarms = generator.binomial(noises, norm.cdf(-true[:, 0] / 2 - true[:, 1]))
    return true, [hits, signals - hits, alarms, noises - alarms]


PARAMETERS = np.array([1.5, 0.1, -0.6, -0.9, 0.2])


def test_likelihood_is_the_integral() -> None:
    counts = np.array([[12.0, 3, 4, 11], [0, 0, 9, 1], [20, 0, 0, 30]])
    found = posterior(PARAMETERS, counts)
    one, other, together = np.exp(PARAMETERS[2]), np.exp(PARAMETERS[3]), np.tanh(PARAMETERS[4])
    cross = one * other * together
    prior = multivariate_normal(PARAMETERS[:2], [[one**2, cross], [cross, other**2]])

    total = 0.0
    for row in counts:
        grid_d, grid_c = np.meshgrid(
            np.linspace(-3, 6, 361), np.linspace(-3, 3, 241), indexing="ij"
        )
        hit, alarm = grid_d / 2 - grid_c, -grid_d / 2 - grid_c
        h, m, f, r = row
        likely = h * log_ndtr(hit) + m * log_ndtr(-hit) + f * log_ndtr(alarm) + r * log_ndtr(-alarm)
        every = np.exp(likely + prior.logpdf(np.dstack([grid_d, grid_c])))
        total += float(np.log(every.sum() * (9 / 360) * (6 / 240)))
    assert found.log_likelihood == pytest.approx(total, abs=0.01)


def test_gradient_is_the_slope() -> None:
    counts = np.array(drawn(20, 20, 30, 1)[1], dtype=float).T
    found = posterior(PARAMETERS, counts).gradient
    for place, step in enumerate(np.eye(5) * 1e-4):
        up, down = posterior(PARAMETERS + step, counts), posterior(PARAMETERS - step, counts)
        slope = (up.log_likelihood - down.log_likelihood) / 2e-4
        assert found[place] == pytest.approx(slope, abs=0.02)


def test_spread_is_not_the_raw_spread_and_shrinkage_beats_raw() -> None:
    raw_spread, spread, raw_error, error, own, means = [], [], [], [], [], []
    for seed in range(40):
        true, counts = drawn(20, 20, 30, seed)
        found = fitted(detection_between(*counts, spread_intervals=False))
        raw_spread.append(found.raw_d_prime_sd)
        spread.append(found.d_prime_sd.value)
        means.append(holds(found.d_prime_mean, 1.6))
        for one, (d, c) in zip(found.operators, true, strict=True):
            raw_error.append((known(one.raw).d_prime.value - d) ** 2)
            error.append((one.d_prime.value - d) ** 2)
            own += [holds(one.d_prime, d), holds(one.criterion, c)]
    assert np.mean(error) < 0.9 * np.mean(raw_error)
    assert np.mean(raw_spread) > 0.66
    assert 0.5 < np.mean(spread) < 0.65
    assert 0.925 <= np.mean(own) <= 0.97
    assert np.mean(means) > 0.88


def test_spread_has_its_interval_and_order_does_not_matter() -> None:
    _, counts = drawn(25, 30, 40, 3)
    found = fitted(detection_between(*counts))
    assert holds(found.d_prime_sd, 0.6)
    assert holds(found.criterion_sd, 0.4)
    assert isinstance(found.correlation, Estimate)
    assert holds(found.correlation, 0.3)
    back = fitted(detection_between(*(one[::-1] for one in counts), spread_intervals=False))
    assert back.d_prime_mean.value == pytest.approx(found.d_prime_mean.value, abs=1e-3)
    assert back.operators[-1].d_prime.value == pytest.approx(
        found.operators[0].d_prime.value, abs=2e-3
    )


def test_operators_who_are_alike_are_not_told_apart() -> None:
    counts = [np.full(12, 16), np.full(12, 4), np.full(12, 3), np.full(12, 17)]
    found = fitted(detection_between(*counts))
    assert found.d_prime_sd.value == found.d_prime_sd.low == 0
    assert isinstance(found.correlation, TooLittleEvidence)
    assert len({round(one.d_prime.value, 6) for one in found.operators}) == 1


def test_operator_without_soiled_places_borrows_from_the_others() -> None:
    _, counts = drawn(10, 20, 20, 5)
    for column in counts[:2]:
        column[0] = 0
    found = fitted(detection_between(*counts, operators=list("abcdefghij"), spread_intervals=False))
    assert isinstance(found.operators[0].raw, TooLittleEvidence)
    widths = [(one.d_prime.high or 0) - (one.d_prime.low or 0) for one in found.operators]
    assert widths[0] == max(widths)


def test_too_little_and_faults_between_operators() -> None:
    assert isinstance(detection_between([9] * 4, [1] * 4, [2] * 4, [8] * 4), TooLittleEvidence)
    assert isinstance(detection_between([], [], [], []), TooLittleEvidence)
    never = detection_between([9] * 6, [0] * 6, [2] * 6, [8] * 6)
    assert isinstance(never, TooLittleEvidence)
    assert never.missing == "spread"
    with pytest.raises(DataError, match="lengths"):
        detection_between([9] * 6, [1] * 5, [2] * 6, [8] * 6)
    with pytest.raises(DataError, match="operators"):
        detection_between([9] * 6, [1] * 6, [2] * 6, [8] * 6, operators=list("abcdea"))
    with pytest.raises(DataError):
        detection_between([9.5] * 6, [1] * 6, [2] * 6, [8] * 6)
