"""Scores laid out by operator and form: the sums that every figure of variation rests on.

The model behind it is ``score = form + operator + rest``: forms may be unequally
hard, so an operator is only ever compared on the forms that he or she sat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array  # type: ignore[import-untyped]
from scipy.sparse.csgraph import connected_components  # type: ignore[import-untyped]

from scoring.values_given import numbers_given

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class TwoWay:
    """Scores by operator and form, with the form effects estimated inside operators.

    Attributes
    ----------
    operators, forms : tuple of str
        Labels, sorted; lengths I and J.
    operator_index, form_index : ndarray of int, shape (n,)
        Row of each score.
    scores : ndarray, shape (n,)
        Finite scores; the unit is the caller's.
    left_out : int
        Scores that were no finite number and were left out.
    counts : ndarray, shape (I, J)
        Scores in each cell.
    means : ndarray, shape (I,)
        Plain mean of each operator.
    form_effects : ndarray, shape (J,)
        Least-squares effect of each form, summing to 0.
    form_covariance : ndarray, shape (J, J)
        Covariance of `form_effects` over the residual variance.
    residual_ss : float
        Sum of squares left by operators and forms.
    residual_df : int
        Its degrees of freedom.
    operator_df : int
        Degrees of freedom of operators once forms are fitted.
    """

    operators: tuple[str, ...]
    forms: tuple[str, ...]
    operator_index: NDArray[np.intp]
    form_index: NDArray[np.intp]
    scores: Numbers
    left_out: int
    counts: Numbers
    means: Numbers
    form_effects: Numbers
    form_covariance: Numbers
    residual_ss: float
    residual_df: int
    operator_df: int

    @property
    def sittings(self) -> int:
        """Number of scores that count."""
        return len(self.scores)


def lay_out(operators: Sequence[str], forms: Sequence[str], scores: Sequence[float]) -> TwoWay:
    """Lay scores out by operator and form and fit the additive model by least squares.

    Parameters
    ----------
    operators, forms : sequence of str, length n
        Who, and which form, for each score; a pandas column of categories is read by its
        numbers, which is many times faster.
    scores : sequence of float, length n
        The scores; one that is no finite number is left out and counted.

    Returns
    -------
    TwoWay

    Raises
    ------
    ValueError
        The three sequences differ in length, or a score is no number.

    Notes
    -----
    Least squares for the additive two-way layout with unequal numbers, operators
    eliminated first (Searle SR, Linear Models, 1971, ch. 7; from memory, checked
    in the tests against a dense solution).
    """
    given = numbers_given(scores, "scores").ravel()
    if not len(operators) == len(forms) == len(given):
        raise ValueError(
            f"{len(operators)} operators, {len(forms)} forms, {len(given)} scores: "
            "wanted one of each for every sitting"
        )
    kept = np.isfinite(given)
    y = given[kept]
    operator_names, o = _levels(operators, kept)
    form_names, f = _levels(forms, kept)
    size = (len(operator_names), len(form_names))
    counts = np.bincount(o * size[1] + f, minlength=size[0] * size[1]).astype(float).reshape(size)
    per_operator = counts.sum(axis=1)
    means = np.bincount(o, y, size[0]) / per_operator
    within = y - means[o]
    inside = np.diag(counts.sum(axis=0)) - counts.T @ (counts / per_operator[:, None])
    # Pseudo-inverse: the form effects are only known up to a constant in each linked group.
    covariance: Numbers = np.linalg.pinv(inside, rcond=1e-10, hermitian=True)
    right_side = np.bincount(f, within, size[1])
    effects: Numbers = np.asarray(covariance @ right_side, dtype=np.float64)
    groups = _linked_groups(counts)
    return TwoWay(
        operators=operator_names,
        forms=form_names,
        operator_index=o,
        form_index=f,
        scores=y,
        left_out=int((~kept).sum()),
        counts=counts,
        means=means,
        form_effects=effects,
        form_covariance=covariance,
        residual_ss=max(0.0, float(within @ within - right_side @ effects)),
        residual_df=len(y) - size[0] - size[1] + groups,
        operator_df=size[0] - groups,
    )


def _levels(
    labels: Sequence[str], kept: NDArray[np.bool_]
) -> tuple[tuple[str, ...], NDArray[np.intp]]:
    """Return the labels that occur, sorted as text, and the place of each kept row's label."""
    categories = getattr(labels, "cat", None)
    if categories is None:
        texts = np.asarray(labels, dtype=str)
        found, place = np.unique(texts[kept], return_inverse=True)
        return tuple(found.tolist()), place
    names = np.asarray(categories.categories, dtype=str)
    codes = np.asarray(categories.codes)[kept]
    used = np.flatnonzero(np.bincount(codes, minlength=len(names)))
    used = used[np.argsort(names[used], kind="stable")]
    where = np.zeros(len(names), dtype=np.intp)
    where[used] = np.arange(len(used))
    return tuple(names[used].tolist()), where[codes]


def _linked_groups(counts: Numbers) -> int:
    """Count the groups of operators and forms that no sitting links with each other."""
    operators, forms = counts.shape
    if operators == 0:
        return 0
    row, column = np.nonzero(counts)
    total = operators + forms
    links = coo_array((np.ones(len(row)), (row, column + operators)), shape=(total, total))
    return int(connected_components(links, directed=False)[0])
