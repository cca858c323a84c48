"""Bootstrap samples of persons as weights: a mean over a sample is then one row of a product."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scoring.measurement.credit_table import Floats

CELLS_AT_A_TIME = 2_000_000
"""Weights held at once, 16 MB. A working judgement, no source."""


def resampled_means(parts: Floats, samples: int, random: np.random.Generator) -> Floats:
    """Return the column means of bootstrap samples of the rows, shape (samples, columns)."""
    blocks = [weights @ parts / len(parts) for weights in _weights(len(parts), samples, random)]
    return np.vstack(blocks) if blocks else np.empty((0, parts.shape[1]))


def _weights(n: int, samples: int, random: np.random.Generator) -> Iterator[Floats]:
    step = max(1, CELLS_AT_A_TIME // n)
    for start in range(0, samples, step):
        many = min(step, samples - start)
        drawn = random.integers(0, n, size=(many, n)) + n * np.arange(many)[:, None]
        yield np.bincount(drawn.ravel(), minlength=many * n).reshape(many, n).astype(np.float64)
