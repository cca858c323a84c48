"""Decision studies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.d_numbers import Needed, d_table, levels_needed
from scoring.measurement.d_study import d_study
from scoring.measurement.g_cells import long_form
from scoring.measurement.generalizability import GStudy, g_study


def study(seed: int = 1, shape: tuple[int, ...] = (8, 5, 3), design: str = "p x i x r") -> GStudy:
    draw = np.random.default_rng(seed)
    table = draw.normal(size=shape) + 1.5 * draw.normal(size=(shape[0], *[1] * (len(shape) - 1)))
    found = g_study(*long_form(table, "pir"[: len(shape)]), design)
    assert isinstance(found, GStudy)
    return found


def number(of: Estimate | TooLittleEvidence | None) -> float:
    assert isinstance(of, Estimate), of
    return of.value


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 500), st.integers(1, 30), st.integers(1, 30))
def test_more_levels_never_make_it_worse(seed: int, i: int, r: int) -> None:
    held = study(seed)
    less, more = d_study(held, {"i": i, "r": r}), d_study(held, {"i": i + 1, "r": r})
    assert more.absolute_error_variance.value <= less.absolute_error_variance.value
    if isinstance(less.erho2, TooLittleEvidence):
        return
    assert 0 <= number(less.phi) <= number(less.erho2) <= number(more.erho2) <= 1
    for one in (less.erho2, less.phi, less.sem_absolute):
        assert isinstance(one, Estimate)
        assert one.low is not None
        assert one.high is not None
        assert one.low <= one.value <= one.high
    assert less.sem_absolute.value**2 == pytest.approx(less.absolute_error_variance.value)


def test_nesting_what_was_crossed() -> None:
    held = study(3)
    value = {c.name: c.estimate.value for c in held.components}
    made = d_study(held, {"i": 4, "r": 2}, design="p x (r:i)")
    wanted = value["pi"] / 4 + (value["pr"] + value["pir"]) / 8
    assert made.relative_error_variance.value == pytest.approx(wanted)
    wanted += value["i"] / 4 + (value["r"] + value["ir"]) / 8
    assert made.absolute_error_variance.value == pytest.approx(wanted)
    nested = study(3, design="p x (r:i)")
    with pytest.raises(DataError):
        d_study(nested, design="p x r x i")
    with pytest.raises(DataError):
        d_study(held, design="p x i")


def test_fixed_facet_is_part_of_the_universe_score() -> None:
    held = study(3)
    value = {c.name: c.estimate.value for c in held.components}
    made = d_study(held, fixed=["r"])
    assert made.universe_variance.value == pytest.approx(value["p"] + value["pr"] / 3)
    mixed = held.mixed(["r"])
    assert made.universe_variance.value == pytest.approx(mixed["p"])
    assert made.absolute_error_variance.value == pytest.approx(mixed["i"] / 5 + mixed["pi"] / 5)
    with pytest.raises(DataError):
        d_study(held, fixed=["p"])


def test_persons_within_sites() -> None:
    draw = np.random.default_rng(8)
    scores = draw.normal(size=4 * 5 * 6) + np.repeat(draw.normal(size=20), 6)
    facets = {
        "c": np.repeat(range(4), 30).tolist(),
        "p": np.tile(np.repeat(range(5), 6), 4).tolist(),
        "i": np.tile(range(6), 20).tolist(),
    }
    held = g_study(scores, facets, "(p:c) x i")
    assert isinstance(held, GStudy)
    value = {c.name: c.estimate.value for c in held.components}
    across, within = d_study(held), d_study(held, within=True)
    assert across.universe_variance.n == 20
    assert across.universe_variance.value == pytest.approx(value["c"] + value["p:c"])
    assert within.universe_variance.value == pytest.approx(value["p:c"])
    site = d_study(held, object_of_measurement="c")
    assert site.universe_variance.value == pytest.approx(value["c"])
    wanted = value["p:c"] / 5 + value["ci"] / 6 + value["pi:c"] / 30
    assert site.relative_error_variance.value == pytest.approx(wanted)


def test_cut_far_away_is_surer() -> None:
    held = study(2, (12, 6), "p x i")
    near, far = d_study(held, cut=held.mean), d_study(held, cut=held.mean + 5)
    assert number(near.phi_lambda) < number(near.phi) < number(far.phi_lambda)
    assert number(d_study(held, cut=1e6).phi_lambda) == pytest.approx(1)
    assert d_study(held).phi_lambda is None
    twice = d_study(held, {"i": 12}, cut=held.mean, mean_from="d_study")
    assert number(twice.phi_lambda) > number(d_study(held, {"i": 12}, cut=held.mean).phi_lambda)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 500), st.floats(0.05, 0.98))
def test_smallest_number(seed: int, wanted: float) -> None:
    held = study(seed)
    found = levels_needed(held, "i", wanted, n={"r": 2})
    if isinstance(found, TooLittleEvidence):
        assert found.missing == "not reachable"
        most = d_study(held, {"i": 10_000, "r": 2}).phi
        assert isinstance(most, TooLittleEvidence) or most.value < wanted
        return
    assert isinstance(found, Needed)
    assert number(found.study.phi) >= wanted
    if found.n > 1:
        assert number(d_study(held, {"i": found.n - 1, "r": 2}).phi) < wanted


def test_table_and_faults() -> None:
    held = study()
    table = d_table(held, {"i": [4, 8], "r": [1, 2]})
    assert [made.n for made in table] == [{"i": i, "r": r} for i in (4, 8) for r in (1, 2)]
    with pytest.raises(DataError):
        d_study(held, {"i": 0})
    with pytest.raises(DataError):
        d_study(held, {"p": 3})
    with pytest.raises(DataError):
        levels_needed(held, "i", 1.0)
    with pytest.raises(DataError):
        levels_needed(held, "i", 0.5, coefficient="phi_lambda")
    with pytest.raises(DataError):
        levels_needed(held, "i", 0.5, fixed=["i"])


def test_without_seed_incomplete_data_has_no_interval() -> None:
    table = np.random.default_rng(1).normal(size=(8, 5))
    table[0, 0] = np.nan
    for seed in (None, 1):
        held = g_study(*long_form(table), "p x i", seed=seed)
        assert isinstance(held, GStudy)
        assert (d_study(held).sem_absolute.low is None) == (seed is None)
