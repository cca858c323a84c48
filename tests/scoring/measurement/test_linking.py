"""Links between two calibrations: the constant, its errors, and items that drifted."""

from __future__ import annotations

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.linking import Link, link, linked
from scoring.measurement.rasch import RaschFit, rasch

DIFFICULTY = np.linspace(-1.5, 1.5, 16)[np.random.default_rng(0).permutation(16)]
NAMES = [f"item {k}" for k in range(16)]
FIRST, SECOND = list(range(11)), list(range(5, 16))


def form(
    rng: np.random.Generator, taken: list[int], mean: float, n: int = 300, drift: float = 0.0
) -> RaschFit:
    difficulty = DIFFICULTY.copy()
    difficulty[7] += drift
    chance = 1 / (1 + np.exp(difficulty[taken] - mean - rng.normal(size=n)[:, None]))
    found = rasch(
        (rng.random(chance.shape) < chance).astype(float), items=[NAMES[k] for k in taken]
    )
    assert isinstance(found, RaschFit)
    return found


def linking(base: RaschFit, new: RaschFit, **more: object) -> Link:
    found = link(base, new, **more)  # type: ignore[arg-type]
    assert isinstance(found, Link)
    return found


def test_intervals_cover_the_true_constant() -> None:
    rng = np.random.default_rng(1)
    inside, sampling = [], []
    for _ in range(300):
        found = linking(form(rng, FIRST, 0.0), form(rng, SECOND, 0.6), drift="keep")
        assert found.constant.low is not None
        assert found.constant.high is not None
        inside.append(found.constant.low < 0.6 < found.constant.high)
        sampling.append(abs(found.constant.value - 0.6) < 1.96 * found.sampling_error)
    # Standard error of a share of 300: 0.013. The interval takes the larger of two errors.
    assert 0.93 <= np.mean(inside) <= 0.985
    assert 0.93 <= np.mean(sampling) <= 0.975


def test_a_drifted_item_is_found_and_left_out() -> None:
    rng = np.random.default_rng(2)
    base, new = form(rng, FIRST, 0.0, 3000), form(rng, SECOND, 0.6, 3000, drift=1.0)
    dropped, kept = linking(base, new), linking(base, new, drift="keep")
    marked = {one.item for one in dropped.common if one.drifted}
    assert "item 7" in marked
    assert set(dropped.used) == {one.item for one in dropped.common} - marked
    assert abs(dropped.constant.value - 0.6) < abs(kept.constant.value - 0.6)
    assert len(kept.used) == 6
    assert kept.standard_error > kept.sampling_error


def test_the_two_methods_on_exact_numbers() -> None:
    base = form(np.random.default_rng(3), FIRST, 0.0)
    same = linking(base, base)
    assert same.constant.value == 0.0
    assert same.common[0].z is None
    sigma = linking(base, base, method="mean-sigma")
    assert sigma.slope == pytest.approx(1.0)
    rng = np.random.default_rng(4)
    new = form(rng, SECOND, 0.6)
    found = linking(base, new, method="mean-sigma", drift="keep")
    old = np.array([one.base for one in found.common])
    fresh = np.array([one.new for one in found.common])
    assert found.slope == pytest.approx(old.std() / fresh.std())
    assert found.constant.value == pytest.approx(old.mean() - found.slope * fresh.mean())


def test_all_items_stand_on_one_scale_with_their_covariance() -> None:
    rng = np.random.default_rng(5)
    base, new = form(rng, FIRST, 0.0), form(rng, SECOND, 0.6)
    by = linking(base, new)
    scale = linked(base, new, by)
    assert scale.items == (*base.items, *(NAMES[k] for k in range(11, 16)))
    assert scale.difficulty[:11] == pytest.approx(base.difficulty)
    alone = [new.items.index(NAMES[k]) for k in range(11, 16)]
    assert scale.difficulty[11:] == pytest.approx(new.difficulty[alone] + by.constant.value)
    assert np.linalg.eigvalsh(scale.covariance)[0] > -1e-12
    # A moved item carries the error of the link on top of its own.
    assert (np.diagonal(scale.covariance)[11:] > 0).all()
    assert (
        np.abs((scale.difficulty - DIFFICULTY) / np.sqrt(np.diagonal(scale.covariance))).max() < 4
    )
    with pytest.raises(DataError):
        linked(base, new, linking(base, new, method="mean-sigma"))


def test_too_little_and_refusals() -> None:
    rng = np.random.default_rng(6)
    base = form(rng, list(range(6)), 0.0)
    for taken in (list(range(6, 12)), list(range(5, 12))):
        found = link(base, form(rng, taken, 0.0))
        assert isinstance(found, TooLittleEvidence)
        assert found.missing == "common items"
    with pytest.raises(DataError):
        link(base, base, method="guess")  # type: ignore[arg-type]
    with pytest.raises(DataError):
        link(base, base, drift="maybe")  # type: ignore[arg-type]
