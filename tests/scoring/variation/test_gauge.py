"""The gauge study: against plain sums, what its intervals cover, and bad input."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.gauge import Gauge, gauge_anova, gauge_ranges


def drawn(random: np.random.Generator, pair: float) -> np.ndarray:
    y = 2.0 * random.normal(size=(10, 1, 1)) + 0.8 * random.normal(size=(1, 6, 1))
    return np.asarray(y + pair * random.normal(size=(10, 6, 1)) + random.normal(size=(10, 6, 3)))


def test_parts_of_the_variance_add_up() -> None:
    for pair in (0.0, 1.0):
        found = gauge_anova(drawn(np.random.default_rng(3), pair))
        assert isinstance(found, Gauge)
        assert found.pooled == (pair == 0.0)
        assert found.gauge == pytest.approx(math.hypot(found.repeatability, found.reproducibility))
        assert found.total == pytest.approx(math.hypot(found.gauge, found.part))
        assert found.contribution["gauge"] + found.contribution["part"] == pytest.approx(100)
        for told in found.intervals.values():
            assert told.low is not None
            assert told.high is not None
            assert told.low <= told.value <= told.high


def test_intervals_cover_without_pooling() -> None:
    random = np.random.default_rng(7)
    truth = {"repeatability": 1.0, "reproducibility": math.sqrt(0.64 + 0.25), "part": 2.0}
    truth["gauge"] = math.hypot(1.0, truth["reproducibility"])
    truth["total"] = math.hypot(truth["gauge"], 2.0)
    hits = dict.fromkeys(truth, 0)
    for _ in range(1000):
        found = gauge_anova(drawn(random, 0.5), alpha=1.0)
        assert isinstance(found, Gauge)
        for name, value in truth.items():
            told = found.intervals[name]
            hits[name] += told.low <= value <= told.high  # type: ignore[operator]
    print({name: count / 1000 for name, count in hits.items()})
    for count in hits.values():
        assert 930 <= count <= 972


def test_ranges_agree_with_the_table_of_variance_on_plenty_of_data() -> None:
    random = np.random.default_rng(1)
    y = 2.0 * random.normal(size=(60, 1, 1)) + random.normal(size=(60, 8, 3))
    y += np.linspace(-2, 2, 8)[None, :, None]
    one, two = gauge_anova(y), gauge_ranges(y)
    assert isinstance(one, Gauge)
    assert isinstance(two, Gauge)
    assert two.repeatability == pytest.approx(one.repeatability, rel=0.05)
    assert two.part == pytest.approx(one.part, rel=0.25)


def test_what_is_missing_is_said() -> None:
    for gauge in (gauge_anova, gauge_ranges):
        assert isinstance(gauge(np.ones((3, 2, 2))), TooLittleEvidence)
        assert isinstance(gauge(np.arange(6.0).reshape(3, 2, 1)), TooLittleEvidence)
        with pytest.raises(DataError):
            gauge(np.ones((3, 2)))
