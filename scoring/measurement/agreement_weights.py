"""How near to agreement two different categories are: the weights of weighted agreement."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError
from scoring.measurement.rating_grid import Category, scores_of

Named = Literal["identity", "linear", "quadratic", "ordinal", "radical", "ratio"]
WEIGHTS: tuple[Named, ...] = get_args(Named)

WeightsAre = Literal["agreement", "disagreement"]


def agreement_weights(
    categories: Sequence[Category],
    weights: Named | ArrayLike = "identity",
    *,
    weights_are: WeightsAre | None = None,
    scores: ArrayLike | None = None,
) -> NDArray[np.float64]:
    """Return weights of agreement: 1 on the diagonal, 0 for the worst disagreement.

    Parameters
    ----------
    categories : sequence
        The scale, in order.
    weights : str or array-like, shape (categories, categories)
        ``identity``: only the same category agrees. ``linear``: 1 - d/d_max.
        ``quadratic``: 1 - (d/d_max)**2. ``radical``: 1 - sqrt(d/d_max). ``ratio``:
        1 - ((a-b)/(a+b))**2 over its largest value. ``ordinal``: by pairs of
        categories lying between, 1 - C(m, 2)/C(q, 2), m the number of categories
        from one to the other, both counted. Or a matrix of your own.
    weights_are : {"agreement", "disagreement"}, optional
        Must be said of a matrix of your own, because both are in use. Disagreement
        v becomes agreement 1 - v/max(v).
    scores : array-like, optional
        Value of each category. Otherwise the categories themselves if all are
        numbers, else 1, 2, 3, ….

    Returns
    -------
    ndarray, shape (categories, categories)

    Raises
    ------
    DataError
        A matrix of the wrong shape, not symmetric, with a value that is not finite,
        with a diagonal that is not complete agreement, or scores that do not fit.

    Notes
    -----
    Gwet KL (2014), Handbook of Inter-Rater Reliability, 4th ed., chapter 3 (from memory).
    """
    size = len(categories)
    if not isinstance(weights, str):
        return _own(weights, size, weights_are)
    if weights not in WEIGHTS:
        raise DataError("weights", weights, f"one of {WEIGHTS} or a matrix")
    if weights == "identity" or size < 2:
        return np.eye(size)
    if weights == "ordinal":
        apart = np.abs(np.subtract.outer(np.arange(size), np.arange(size))) + 1.0
        found: NDArray[np.float64] = 1 - apart * (apart - 1) / (size * (size - 1))
        return found
    return _by_distance(_scores(categories, scores), weights)


def _by_distance(values: NDArray[np.float64], weights: str) -> NDArray[np.float64]:
    apart = np.abs(np.subtract.outer(values, values))
    if weights == "ratio":
        if (values < 0).any():
            raise DataError(
                "categories", values.tolist(), "numbers of 0 and more for ratio weights"
            )
        total = np.add.outer(values, values)
        apart = (apart / np.where(total > 0, total, 1.0)) ** 2
    elif weights == "quadratic":
        apart = apart**2
    elif weights == "radical":
        apart = np.sqrt(apart)
    found: NDArray[np.float64] = 1 - apart / apart.max()
    return found


def _scores(categories: Sequence[Category], scores: ArrayLike | None) -> NDArray[np.float64]:
    values = scores_of(categories) if scores is None else np.asarray(scores, dtype=np.float64)
    if values.shape != (len(categories),) or not np.isfinite(values).all():
        raise DataError("scores", values.tolist(), f"{len(categories)} finite numbers")
    if len(set(values.tolist())) != len(values):
        raise DataError("scores", values.tolist(), "a different number for each category")
    return values


def _own(weights: ArrayLike, size: int, weights_are: WeightsAre | None) -> NDArray[np.float64]:
    matrix = np.asarray(weights, dtype=np.float64)
    if matrix.shape != (size, size):
        raise DataError("weights", matrix.shape, f"a matrix of {size} rows and {size} columns")
    if not np.isfinite(matrix).all() or not np.allclose(matrix, matrix.T):
        raise DataError("weights", matrix.tolist(), "finite numbers, the same in both directions")
    diagonal, rest = np.diag(matrix), matrix[~np.eye(size, dtype=bool)]
    if weights_are == "agreement":
        if not np.allclose(diagonal, 1) or (rest > 1).any():
            raise DataError("weights", matrix.tolist(), "1 on the diagonal and no more elsewhere")
        return matrix
    if weights_are == "disagreement":
        if not np.allclose(diagonal, 0) or (rest < 0).any() or not (rest > 0).any():
            raise DataError("weights", matrix.tolist(), "0 on the diagonal and more elsewhere")
        turned: NDArray[np.float64] = 1 - matrix / matrix.max()
        return turned
    raise DataError("weights_are", weights_are, "'agreement' or 'disagreement' said of own weights")
