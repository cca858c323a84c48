"""CUSUM and EWMA: run lengths against a Markov chain and against simulation, paths by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation import cusum as run_lengths
from scoring.variation.cusum import cusum_arl, cusum_h, ewma_arl, ewma_limit, siegmund_arl
from scoring.variation.shift_charts import ShiftChart, cusum, ewma
from tests.published.charts import MONTGOMERY


def brook_evans(h: float, k: float, shift: float, states: int) -> float:
    """Return the one-sided run length by a chain of equal cells (Brook and Evans 1972)."""
    width = 2 * h / (2 * states - 1)
    to = np.arange(states)
    frm = to[:, None]
    upper = norm.cdf((to - frm) * width + width / 2 + k - shift)
    lower = norm.cdf((to - frm) * width - width / 2 + k - shift)
    chain = upper - lower
    chain[:, 0] = upper[:, 0]
    return float(np.linalg.solve(np.eye(states) - chain, np.ones(states))[0])


@pytest.mark.parametrize(("h", "k"), [(4.0, 0.5), (2.5, 1.0), (8.0, 0.25)])
@pytest.mark.parametrize("shift", [0.0, 0.5, 2.0])
def test_one_sided_agrees_with_a_markov_chain(h: float, k: float, shift: float) -> None:
    coarse, fine = (brook_evans(h, k, shift, states) for states in (80, 160))
    # The chain's error falls with the square of its cells.
    limit = fine + (fine - coarse) / 3
    assert cusum_arl(h, k, shift, sided="upper") == pytest.approx(limit, rel=2e-4)
    assert cusum_arl(h, k, -shift, sided="lower") == pytest.approx(limit, rel=2e-4)


def simulated(generator: np.random.Generator, h: float, k: float, shift: float, start: float,
              runs: int) -> np.ndarray:  # fmt: skip
    lengths = np.zeros(runs)
    up, down = np.full(runs, start), np.full(runs, start)
    here, at = np.arange(runs), 0
    while len(here):
        x = shift + generator.standard_normal(len(here))
        up, down = np.maximum(0, up + x - k), np.maximum(0, down - x - k)
        at += 1
        out = (up > h) | (down > h)
        lengths[here[out]] = at
        here, up, down = here[~out], up[~out], down[~out]
    return lengths


@pytest.mark.parametrize(("shift", "start"), [(0.0, 0.0), (0.7, 0.0), (0.3, 1.5)])
def test_two_sided_agrees_with_simulation(shift: float, start: float) -> None:
    sample = simulated(np.random.default_rng(8), 3.0, 0.5, shift, start, 6000)
    error = sample.std() / math.sqrt(len(sample))
    assert abs(cusum_arl(3.0, 0.5, shift, head_start=start) - sample.mean()) < 3.5 * error


def test_ewma_agrees_with_simulation() -> None:
    generator = np.random.default_rng(9)
    end = 2.2 * math.sqrt(0.2 / 1.8)
    for shift in (0.0, 0.8):
        z, here, at, lengths = np.zeros(6000), np.arange(6000), 0, np.zeros(6000)
        while len(here):
            z = 0.2 * (shift + generator.standard_normal(len(here))) + 0.8 * z
            at += 1
            out = np.abs(z) > end
            lengths[here[out]] = at
            here, z = here[~out], z[~out]
        error = lengths.std() / math.sqrt(len(lengths))
        assert abs(ewma_arl(2.2, 0.2, shift) - lengths.mean()) < 3.5 * error


def test_more_nodes_change_no_printed_digit(monkeypatch: pytest.MonkeyPatch) -> None:
    def figures() -> list[float]:
        return [
            *(cusum_arl(h, k, s) for h, k in ((1.0, 1.0), (5.0, 0.5), (10.0, 0.1)) for s in (0, 2)),
            *(ewma_arl(limit, w, s) for limit, w in ((2.6, 0.05), (3.0, 0.7)) for s in (0, 2)),
        ]

    before = figures()
    monkeypatch.setattr(run_lengths, "LEAST_NODES", 2 * run_lengths.LEAST_NODES)
    monkeypatch.setattr(run_lengths, "NODES_PER_WIDTH", 2 * run_lengths.NODES_PER_WIDTH)
    assert figures() == pytest.approx(before, rel=1e-9)


def test_an_ewma_of_weight_one_is_an_individuals_chart() -> None:
    assert ewma_arl(3.0, 1.0) == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-9)
    assert ewma_arl(3.0, 0.999) == pytest.approx(ewma_arl(3.0, 1.0), rel=0.01)


@given(st.floats(0.5, 6), st.floats(0.1, 1.5), st.floats(0, 3), st.floats(0.1, 1))
@settings(max_examples=30)
def test_a_larger_shift_is_seen_sooner(h: float, k: float, shift: float, more: float) -> None:
    assert cusum_arl(h, k, shift + more) < cusum_arl(h, k, shift)
    assert cusum_arl(h, k, -shift) == pytest.approx(cusum_arl(h, k, shift))
    assert cusum_arl(h + more, k, shift) > cusum_arl(h, k, shift)
    assert cusum_arl(h, k, shift, head_start=h / 2) <= cusum_arl(h, k, shift) * (1 + 1e-12)
    assert ewma_arl(3.0, 0.2, shift + more) < ewma_arl(3.0, 0.2, shift)


@given(st.floats(20, 5000), st.sampled_from([0.25, 0.5, 1.0]))
@settings(max_examples=10)
def test_the_limit_has_the_wanted_run(arl0: float, k: float) -> None:
    assert cusum_arl(cusum_h(arl0, k), k) == pytest.approx(arl0, rel=1e-6)
    assert ewma_arl(ewma_limit(arl0, 0.2), 0.2) == pytest.approx(arl0, rel=1e-6)


def test_head_starts_and_one_side_have_limits_too() -> None:
    h = cusum_h(400, sided="upper", head_start_share=0.5)
    assert cusum_arl(h, sided="upper", head_start=h / 2) == pytest.approx(400, rel=1e-6)


def test_siegmund_is_close() -> None:
    for shift in (0.0, 0.5, 1.5):
        assert siegmund_arl(5, 0.5, shift) == pytest.approx(cusum_arl(5, 0.5, shift), rel=0.03)
        one = cusum_arl(5, 0.5, shift, sided="upper")
        assert siegmund_arl(5, 0.5, shift, sided="upper") == pytest.approx(one, rel=0.03)


def test_endless_runs_are_told_as_long_or_infinite() -> None:
    assert cusum_arl(30) > 1e12
    assert cusum_arl(60, head_start=30) > 1e12
    assert ewma_arl(12, 0.1) == math.inf
    assert ewma_arl(12, 1.0) == math.inf


@given(st.lists(st.floats(-3, 3), min_size=1, max_size=40))
def test_paths_by_hand(z: list[float]) -> None:
    chart = cusum([10 + 2 * value for value in z], 10, 2, k=0.5, h=2.0)
    assert isinstance(chart, ShiftChart)
    up = down = 0.0
    for at, value in enumerate(z):
        up, down = max(0.0, up + value - 0.5), max(0.0, down - value - 0.5)
        assert chart.upper[at] == pytest.approx(2 * up, abs=1e-9)
        assert chart.lower[at] == pytest.approx(2 * down, abs=1e-9)
        if abs(max(up, down) - 2) > 1e-6:
            assert (str(at + 1) in chart.signals) == (max(up, down) > 2)
    mirrored = cusum([10 - 2 * value for value in z], 10, 2, k=0.5, h=2.0)
    assert isinstance(mirrored, ShiftChart)
    assert mirrored.upper == pytest.approx(chart.lower, abs=1e-9)


def test_ewma_limits_widen_to_those_of_the_long_run() -> None:
    widening = ewma(MONTGOMERY, 10, 1, weight=0.1, limit=2.7)
    constant = ewma(MONTGOMERY, 10, 1, weight=0.1, limit=2.7, constant_limits=True)
    assert isinstance(widening, ShiftChart)
    assert isinstance(constant, ShiftChart)
    assert widening.limits[0][1] == pytest.approx(10.27)
    assert constant.limits[0][1] == pytest.approx(10 + 2.7 * math.sqrt(0.1 / 1.9))
    assert widening.limits[-1][1] == pytest.approx(constant.limits[0][1], rel=1e-3)
    assert widening.arl0 == ewma_arl(2.7, 0.1)


def test_too_little_and_unusable() -> None:
    assert siegmund_arl(1e4) == math.inf
    assert isinstance(cusum([], 10, 1), TooLittleEvidence)
    assert isinstance(ewma([], 10, 1), TooLittleEvidence)
    with pytest.raises(DataError, match="row 2"):
        cusum([1, math.nan], 10, 1)
    for wrong in (
        lambda: cusum([1], 10, 0), lambda: cusum_arl(0), lambda: cusum_arl(4, -1),
        lambda: cusum_arl(4, head_start=5), lambda: cusum_arl(4, sided="both"),  # type: ignore[arg-type]
        lambda: ewma_arl(3, 0), lambda: ewma_arl(3, 0.1, start=2), lambda: cusum_h(1.5),
        lambda: cusum_h(1e12), lambda: ewma_limit(1.0), lambda: siegmund_arl(math.nan),
        lambda: siegmund_arl(4, sided="both"),  # type: ignore[arg-type]
    ):  # fmt: skip
        with pytest.raises(ValueError, match=r"wanted|shorter"):
            wrong()
