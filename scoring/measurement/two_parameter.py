"""Whether items part able from less able persons equally well: the two-parameter logistic model.

``P(right) = 1 / (1 + exp(-discrimination * (ability - difficulty)))`` with ability
of mean 0 and variance 1 (Birnbaum A (1968), in Lord and Novick; Bock and Aitkin 1981; both
from memory). If one discrimination serves all items this is the Rasch model, and
`one_discrimination` tests that.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit, logsumexp  # type: ignore[import-untyped]
from scipy.stats import chi2  # type: ignore[import-untyped]

from scoring.evidence import (
    TooLittleEvidence,
    counted,
)
from scoring.measurement.ability_grid import ability_grid
from scoring.measurement.climb import climb
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_conditional import LikelihoodRatio
from scoring.measurement.right_wrong import Answers, Floats, answers

FLATTEST = 1e-3
"""A discrimination below this, either way, says nothing of ability; the difficulty, a quotient by
it, has then no meaning. A working judgement, no source."""

STEEPEST = 20.0
"""A discrimination above this is a step: the likelihood rises for ever towards it. A working
judgement, no source; published tests are below 4 (common practice)."""


@dataclass(frozen=True, slots=True, eq=False)
class TwoParameterFit:
    """Difficulty and discrimination of items; ability has mean 0 and variance 1.

    Attributes
    ----------
    items : tuple
        Names, in the order of the table.
    difficulty, difficulty_error : ndarray of float, shape (items,)
        Ability at which half answer right; errors by the delta method.
    discrimination, discrimination_error : ndarray of float, shape (items,)
        Slope there (without a factor 1.7); negative where the able do worse.
    intercept, intercept_error : ndarray of float, shape (items,)
        ``-discrimination * difficulty``.
    log_likelihood : float
    parameters : int
    n : int
        Persons with at least one usable answer.
    dropped : dict
        Items without an estimate, each with the reason.
    answers : Answers
        What was used.
    """

    items: tuple[Hashable, ...]
    difficulty: Floats
    difficulty_error: Floats
    discrimination: Floats
    discrimination_error: Floats
    intercept: Floats
    intercept_error: Floats
    log_likelihood: float
    parameters: int
    n: int
    dropped: dict[Hashable, TooLittleEvidence]
    answers: Answers


def two_parameter(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
    points: int | None = None,
) -> TwoParameterFit | TooLittleEvidence:
    """Estimate the two-parameter logistic model (2PL) by marginal maximum likelihood.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong, NaN or None where not asked; see `right_wrong.answers`.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs.
    items : sequence, optional
        Names of the columns.
    points : int, optional
        Gauss-Hermite points, to do as older programs did (published values of short
        tests often rest on 21); otherwise an even grid.

    Returns
    -------
    TwoParameterFit or TooLittleEvidence
        Too little: as `rasch.rasch`; fewer than 3 items; or no maximum, because an
        item parts persons like a step or not at all.

    Raises
    ------
    DataError
        As `right_wrong.answers`.
    """
    return _two_parameter(rasch(answers(responses, counts=counts, items=items)), points)


def one_discrimination(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
) -> LikelihoodRatio | TooLittleEvidence:
    """Test whether one discrimination serves all items: Rasch against the two-parameter model.

    Parameters
    ----------
    responses, counts, items
        As for `two_parameter`.

    Returns
    -------
    LikelihoodRatio or TooLittleEvidence
        With (number of items - 1) degrees of freedom.
    """
    simple = rasch(answers(responses, counts=counts, items=items))
    if isinstance(simple, TooLittleEvidence):
        return simple
    full = _two_parameter(simple, None)
    if isinstance(full, TooLittleEvidence):
        return full
    statistic = max(0.0, 2.0 * (full.log_likelihood - simple.log_likelihood))
    free = len(full.items) - 1
    return LikelihoodRatio(statistic, free, float(chi2.sf(statistic, free)), full.n)


def _two_parameter(
    simple: RaschFit | TooLittleEvidence, points: int | None
) -> TwoParameterFit | TooLittleEvidence:
    """Climb from a Rasch fit."""
    if isinstance(simple, TooLittleEvidence):
        return simple
    used, size = simple.answers, len(simple.items)
    if size < 3:
        said = (
            f"Only {counted(size, 'usable item')}; "
            "at least 3 are needed for a discrimination of each."
        )
        return TooLittleEvidence("items", said, used.n)
    # Rows of one pattern are one row: the table shrinks to its distinct answers.
    both = np.hstack([used.right, used.given])
    unique, of = np.unique(both, axis=0, return_inverse=True)
    right, given = unique[:, :size], unique[:, size:]
    counts = np.bincount(of.reshape(-1), weights=used.counts).astype(np.float64)
    longest, guess = int(given.sum(axis=1).max()), 1.5 * max(1.0, simple.spread)
    at = np.concatenate([-simple.difficulty, np.full(size, simple.spread)])
    while True:
        model = _Model(right, given, counts, *ability_grid(longest, guess, points))
        try:
            at, value, information, _ = climb(at, model.evaluate)
        except ArithmeticError:
            return _steps(used)
        steep = np.abs(at[size:])
        if steep.max() > STEEPEST or steep.min() < FLATTEST:
            return _steps(used)
        if points is not None or np.sqrt(np.mean(steep**2)) <= guess:
            break
        guess = 1.2 * float(np.sqrt(np.mean(steep**2)))
    if float(at[size:].sum()) < 0:
        # Ability may run either way; right answers shall mean more of it.
        at = np.concatenate([at[:size], -at[size:]])
        flip = np.concatenate([np.ones(size), -np.ones(size)])
        information = information * np.outer(flip, flip)
    covariance = np.linalg.inv(information)
    error = np.sqrt(np.diagonal(covariance))
    intercept, slope = at[:size], at[size:]
    turn = np.hstack([np.diag(-1 / slope), np.diag(intercept / slope**2)])
    return TwoParameterFit(
        used.items,
        -intercept / slope,
        np.sqrt(np.einsum("ij,jk,ik->i", turn, covariance, turn)),
        slope,
        error[size:],
        intercept,
        error[:size],
        value,
        2 * size,
        used.n,
        simple.dropped,
        used,
    )


def _steps(used: Answers) -> TooLittleEvidence:
    said = (
        "At least one item parts these people perfectly or not at all, so its discrimination has "
        "no estimate. More people are needed, or leave that item out."
    )
    return TooLittleEvidence("discrimination", said, used.n)


class _Model:
    """Marginal log-likelihood of intercepts (I) and slopes (I), with its derivatives."""

    def __init__(
        self, right: Floats, given: Floats, counts: Floats, nodes: Floats, log_weights: Floats
    ) -> None:
        self.right, self.given, self.counts = right, given, counts
        self.nodes, self.log_weights = nodes, log_weights

    def evaluate(self, at: Floats) -> tuple[float, Floats, Floats]:
        right, given, z = self.right, self.given, self.nodes
        size = right.shape[1]
        logit = at[:size, None] + np.outer(at[size:], z)
        chance = expit(logit)
        log_post = right @ logit - given @ np.logaddexp(0.0, logit) + self.log_weights
        each = logsumexp(log_post, axis=1)
        post = np.exp(log_post - each[:, None])
        weight = self.counts[:, None] * post
        persons = given.T @ weight
        ahead = right.T @ weight - persons * chance
        slope = np.concatenate([ahead.sum(axis=1), ahead @ z])
        curve = persons * chance * (1 - chance)
        hessian = np.zeros((2 * size, 2 * size))
        row = np.arange(size)
        hessian[row, row] = -curve.sum(axis=1)
        hessian[row + size, row + size] = -curve @ z**2
        hessian[row, row + size] = hessian[row + size, row] = -curve @ z
        # Louis's identity: the variance of the complete data's slope over each person's curve.
        mean = np.hstack(
            [
                right - given * (post @ chance.T),
                right * (post @ z)[:, None] - given * ((post * z) @ chance.T),
            ]
        )
        hessian -= mean.T @ (self.counts[:, None] * mean)
        for point, node in enumerate(z):
            off = right - given * chance[:, point]
            block = off.T @ (weight[:, point, None] * off)
            hessian[:size, :size] += block
            hessian[:size, size:] += node * block
            hessian[size:, :size] += node * block
            hessian[size:, size:] += node**2 * block
        return float(self.counts @ each), slope, hessian
