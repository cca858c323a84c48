"""What a fitted binomial model expects at given people, scenarios and columns, and how surely."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scoring.variation.binomial import BinomialFit
from scoring.variation.laplace import CrossedLaplace, Index, Vector


@dataclass(frozen=True, slots=True)
class LogitAt:
    """Normal posteriors of logits.

    Attributes
    ----------
    means, sds : ndarray, shape (rows,)
        Of the logit of success.
    """

    means: Vector
    sds: Vector


def logit_at(fit: BinomialFit, rows: Vector, at: Mapping[str, npt.ArrayLike]) -> LogitAt:
    """Return the logit of success at rows of the design and levels of the groups.

    Parameters
    ----------
    fit : BinomialFit
    rows : ndarray, shape (rows, columns)
        Fixed columns as ``fit.names`` lists them.
    at : mapping of str to array_like of int, shape (rows,)
        Place of the level in ``fit.levels[group]``. A group left out stands at its middle, 0.

    Notes
    -----
    Variance: conditional variance of the effects given the parameters, with
    covariances between groups, and what uncertain parameters add (delta method; Kass RE,
    Steffey D (1989), J Am Stat Assoc 84:717-726, from memory). A spread that was estimated as 0
    is held there, so few operators can make it too small.
    """
    problem, columns = fit.problem, len(fit.names)
    likelihood = problem.likelihood
    laplace = likelihood if isinstance(likelihood, CrossedLaplace) else likelihood.laplace
    mode = laplace.mode(problem.climbed.theta, problem.climbed.effects)
    order = [fit.groups[k] for k in laplace.order]
    offsets = [0, *(laplace.n_first + int(o) for o in laplace.offsets[:-1])]
    places: list[tuple[Index, float, int]] = []
    for rank, group in enumerate(order):
        if group in at:
            place = np.asarray(at[group], dtype=np.int64) + offsets[rank]
            places.append((place, fit.sds[group], columns + fit.groups.index(group)))
    first, cross, rest = laplace.inverse_blocks(mode)
    movement = laplace.movement(mode)
    means = rows @ fit.coefficients
    move = np.zeros((len(rows), len(problem.climbed.theta)))
    variance = np.zeros(len(rows))
    n = laplace.n_first
    for i, (place, sd, parameter) in enumerate(places):
        means = means + sd * mode.effects[place]
        move += sd * movement[place]
        move[:, parameter] += mode.effects[place]
        own = first[place] if place.max(initial=0) < n else np.diag(rest)[place - n]
        variance += sd**2 * own
        for other, other_sd, _ in places[i + 1 :]:
            between = cross[place, other - n] if place.max(initial=0) < n else None
            if between is None:
                between = rest[place - n, other - n]
            variance += 2.0 * sd * other_sd * between
    # The likelihood's own coefficients are turned; those of the fit are back @ them.
    wide = np.eye(move.shape[1])
    wide[:columns, :columns] = np.linalg.inv(problem.back)
    full = move @ wide
    full[:, :columns] += rows
    variance += np.einsum("ij,jk,ik->i", full, fit.covariance, full)
    return LogitAt(np.asarray(means, float), np.sqrt(np.maximum(variance, 0.0)))
