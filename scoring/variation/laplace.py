"""The Laplace likelihood of counts with crossed random effects, its modes and its gradient.

Numbers only: no label, no sentence. The model is

    successes[c] ~ Binomial(trials[c], p[c])
    logit p[c] = design[c] @ b + sum over factors k of sigma[k] * u[k][index[k][c]]

with every ``u`` a standard normal. The largest factor (the operators, as a rule) has a
diagonal block of its own in the information matrix and is eliminated; what is left is a dense
matrix as large as all other factors together. So the cost of one evaluation grows with the
cells and with the square of the smaller factors, and never with the square of the operators.

The approximation is that of Breslow NE, Clayton DG (1993), J Am Stat Assoc 88:9-25, and of
Bates D et al. (2015), J Stat Softw 67(1) (``nAGQ = 1``); both from memory, checked against a
dense computation and against lme4 in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotrs  # type: ignore[import-untyped]

Vector = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]

MODE_TOLERANCE = 1e-14
"""Newton decrement (twice what the penalised log-likelihood can still gain) at which the
modes are taken as found. Newton squares its error, so the last step leaves far less: an
assumption, well below the 1e-3 that two programs' log-likelihoods may differ by."""

FULL_STEPS_BELOW = 0.25
"""Newton decrement under which full steps need no check: they then converge by themselves.
An assumption; above it a step is halved until the target falls."""

MOST_NEWTON_STEPS = 200
"""A safeguard that no tried data came near (the worst took 30): an assumption."""

LARGEST_DENSE = 60_000_000
"""Entries of the densest table kept (about half a gigabyte). An assumption about the PC."""


ALONE = 250_000
"""Multiplications of a matrix product up to which OpenBLAS stays on one core (262,144 in its
source, from memory)."""

SMALL_SYSTEM = 256
"""Unknowns up to which several right sides are solved one after the other. As above."""

NOT_WORTH_CORES = 100_000_000
"""Multiplications up to which several cores hardly pay: some 20 ms on one. Measured: on a busy
machine a fit of 200 x 40 was 7 times as slow without this. A working judgement."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Counts by cell, ready for the numerics.

    Attributes
    ----------
    successes, trials : ndarray of float, shape (cells,)
        Counts, ``0 <= successes <= trials``.
    design : ndarray of float, shape (cells, columns)
        Fixed effects.
    index : tuple of ndarray of int, each of shape (cells,)
        Level of each factor.
    sizes : tuple of int
        Number of levels of each factor.
    """

    successes: Vector
    trials: Vector
    design: Vector
    index: tuple[Index, ...]
    sizes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mode:
    """The most probable random effects at given parameters, and the curvature there.

    Attributes
    ----------
    effects : ndarray, shape (levels of all factors,)
        Standardised effects ``u``: the eliminated factor first, the others after it.
    value : float
        Minus the Laplace log-likelihood, without the binomial constants.
    """

    effects: Vector
    value: float
    theta: Vector
    residual: Vector
    weight: Vector
    skew: Vector
    diagonal: Vector
    cross: Vector
    factor: Vector


class CrossedLaplace:
    """Laplace log-likelihood of one set of cells, as a function of ``theta = (b, sigma)``.

    Parameters
    ----------
    cells : Cells

    Raises
    ------
    ValueError
        The factors other than the largest are too large for a dense table.
    """

    def __init__(self, cells: Cells) -> None:
        self.cells = cells
        self.columns = cells.design.shape[1]
        self.factors = len(cells.sizes)
        largest = int(np.argmax(cells.sizes))
        self.order = (largest, *(k for k in range(self.factors) if k != largest))
        self.first = cells.index[largest]
        self.n_first = cells.sizes[largest]
        sizes = [cells.sizes[k] for k in self.order[1:]]
        self.offsets = np.concatenate([[0], np.cumsum(sizes, dtype=np.int64)])
        self.n_rest = int(self.offsets[-1])
        if (self.n_first + self.n_rest) * max(1, self.n_rest) > LARGEST_DENSE:
            raise ValueError(
                f"{self.n_first} x {self.n_rest} levels are too many for one model; "
                "fit a smaller part, or leave a factor out"
            )
        self.rest = [
            cells.index[k] + offset for k, offset in zip(self.order[1:], self.offsets, strict=False)
        ]
        self.flat_cross = [self.first * self.n_rest + j for j in self.rest]
        self.flat_rest = [
            (i, k, self.rest[i] * self.n_rest + self.rest[k])
            for i in range(len(self.rest))
            for k in range(i + 1, len(self.rest))
        ]

    # --- pieces -----------------------------------------------------------------------------

    def split(self, theta: Vector) -> tuple[Vector, Vector]:
        """Return ``b`` and the standard deviations in the order of elimination."""
        return theta[: self.columns], theta[self.columns :][list(self.order)]

    def spread(self, effects: Vector, sds: Vector) -> Vector:
        """Return ``sum of sigma * u`` at every cell."""
        out: Vector = sds[0] * effects[self.first]
        for j, sd in zip(self.rest, sds[1:], strict=True):
            out = out + sd * effects[self.n_first + j]
        return out

    def gather(self, values: Vector, sds: Vector) -> Vector:
        """Return the transpose of :meth:`spread` applied to one value a cell."""
        out = np.empty(self.n_first + self.n_rest)
        out[: self.n_first] = sds[0] * np.bincount(self.first, values, self.n_first)
        for k, j in enumerate(self.rest):
            low, high = int(self.offsets[k]), int(self.offsets[k + 1])
            found = np.bincount(j, values, self.n_rest)[low:high]
            out[self.n_first + low : self.n_first + high] = sds[k + 1] * found
        return out

    def parts(self, effects: Vector) -> list[Vector]:
        """Return the effects factor by factor, in the order in which the factors were given."""
        found = [effects[: self.n_first]]
        tail = effects[self.n_first :]
        found += [tail[low:high] for low, high in zip(self.offsets, self.offsets[1:], strict=False)]
        return [found[self.order.index(k)] for k in range(self.factors)]

    # --- modes ------------------------------------------------------------------------------

    def mode(self, theta: Vector, start: Vector | None = None) -> Mode:
        """Find the most probable effects by Newton's method.

        Parameters
        ----------
        theta : ndarray, shape (columns + factors,)
            Fixed effects, then standard deviations (their sign does not matter).
        start : ndarray, optional
            Effects to start from (those of a neighbouring `theta`).
        """
        b, sds = self.split(theta)
        fixed = self.cells.design @ b
        u = np.zeros(self.n_first + self.n_rest) if start is None else start
        y, trials = self.cells.successes, self.cells.trials
        for _ in range(MOST_NEWTON_STEPS):
            eta = fixed + self.spread(u, sds)
            small = np.exp(-np.abs(eta))
            p = np.where(eta >= 0, 1.0, small) / (1.0 + small)
            residual = trials * p - y
            weight = trials * small / (1.0 + small) ** 2
            slope = u + self.gather(residual, sds)
            diagonal, cross, factor = self._curvature(weight, sds)
            step = self.solve(diagonal, cross, factor, slope)
            decrement = float(slope @ step)
            if decrement < MODE_TOLERANCE:
                break
            if decrement > FULL_STEPS_BELOW:
                step = step * self._shorter(fixed, u, sds, step, decrement)
            u = u - step
        target = float(trials @ (np.maximum(eta, 0.0) + np.log1p(small)) - y @ eta + 0.5 * u @ u)
        log_det = float(np.log(diagonal).sum() + 2.0 * np.log(np.diag(factor)).sum())
        return Mode(
            effects=u,
            value=target + 0.5 * log_det,
            theta=theta,
            residual=residual,
            weight=weight,
            skew=weight * (1.0 - 2.0 * p),
            diagonal=diagonal,
            cross=cross,
            factor=factor,
        )

    def _shorter(
        self, fixed: Vector, u: Vector, sds: Vector, step: Vector, decrement: float
    ) -> float:
        """Return by how much a step must be shortened for the target to fall."""
        y, trials = self.cells.successes, self.cells.trials

        def target(share: float) -> float:
            moved = u - share * step
            eta = fixed + self.spread(moved, sds)
            return float(trials @ np.logaddexp(0.0, eta) - y @ eta + 0.5 * moved @ moved)

        before, share = target(0.0), 1.0
        while share > 1e-6 and target(share) > before - 0.1 * share * decrement:
            share /= 2.0
        return share

    def _curvature(self, weight: Vector, sds: Vector) -> tuple[Vector, Vector, Vector]:
        """Return the eliminated diagonal, the cross block and the factor of what is left."""
        diagonal = 1.0 + sds[0] ** 2 * np.bincount(self.first, weight, self.n_first)
        cross = np.zeros((self.n_first, self.n_rest))
        if not self.rest:
            return diagonal, cross, np.zeros((0, 0))
        matrix = np.zeros((self.n_rest, self.n_rest))
        own = np.empty(self.n_rest)
        for k, (j, flat) in enumerate(zip(self.rest, self.flat_cross, strict=True)):
            low, high = int(self.offsets[k]), int(self.offsets[k + 1])
            own[low:high] = sds[k + 1] ** 2 * np.bincount(j, weight, self.n_rest)[low:high]
            table = np.bincount(flat, weight, self.n_first * self.n_rest)
            cross += (sds[0] * sds[k + 1]) * table.reshape(self.n_first, self.n_rest)
        for i, k, flat in self.flat_rest:
            table = np.bincount(flat, weight, self.n_rest**2).reshape(self.n_rest, self.n_rest)
            matrix += sds[i + 1] * sds[k + 1] * (table + table.T)
        matrix[np.diag_indices(self.n_rest)] += 1.0 + own
        eliminated = _product(cross.T, cross / diagonal[:, None])
        factor = np.linalg.cholesky(matrix - eliminated)
        return np.asarray(diagonal, float), cross, np.asarray(factor, float)

    def solve(self, diagonal: Vector, cross: Vector, factor: Vector, side: Vector) -> Vector:
        """Return ``H^-1 side`` for the penalised information ``H`` (side: one or more columns)."""
        n = self.n_first
        scaled = side[:n] / (diagonal if side.ndim == 1 else diagonal[:, None])
        if not self.rest:
            return np.asarray(scaled)
        rest = _back(factor, side[n:] - cross.T @ scaled)
        back = cross @ rest
        return np.concatenate(
            [scaled - back / (diagonal if side.ndim == 1 else diagonal[:, None]), rest]
        )

    # --- derivatives ------------------------------------------------------------------------

    def inverse_blocks(self, at: Mode) -> tuple[Vector, Vector, Vector]:
        """Return of ``H^-1`` the first factor's diagonal, the cross block, the others' block."""
        if not self.rest:
            return 1.0 / at.diagonal, at.cross, at.factor
        rest = _back(at.factor, np.eye(self.n_rest))
        scaled = at.cross / at.diagonal[:, None]
        cross = -_product(scaled, rest)
        return 1.0 / at.diagonal - np.einsum("ij,ij->i", cross, scaled), cross, rest

    def variances(self, at: Mode) -> list[Vector]:
        """Return the conditional variance of every standardised effect, factor by factor."""
        first, _, rest = self.inverse_blocks(at)
        return self.parts(np.concatenate([first, np.diag(rest)]))

    def gradient(self, at: Mode) -> Vector:
        """Return the gradient of minus the Laplace log-likelihood in ``(b, sigma)``."""
        _, sds = self.split(at.theta)
        first, cross, rest = self.inverse_blocks(at)
        # Covariance of each factor's own effect with the whole random part, at every cell.
        with_own = [sds[0] * first[self.first]]
        for k, flat in enumerate(self.flat_cross):
            between = cross.ravel()[flat]
            with_own[0] = with_own[0] + sds[k + 1] * between
            own = sds[k + 1] * np.diag(rest)[self.rest[k]] if self.n_rest else 0.0
            with_own.append(sds[0] * between + own)
        for i, k, flat in self.flat_rest:
            between = rest.ravel()[flat]
            with_own[i + 1] = with_own[i + 1] + sds[k + 1] * between
            with_own[k + 1] = with_own[k + 1] + sds[i + 1] * between
        variance = sum((sd * c for sd, c in zip(sds, with_own, strict=True)), np.zeros(1))
        bend = 0.5 * at.skew * variance
        adjoint = self.solve(at.diagonal, at.cross, at.factor, self.gather(bend, sds))
        by_cell = at.residual + bend - at.weight * self.spread(adjoint, sds)
        out = np.empty_like(at.theta)
        out[: self.columns] = self.cells.design.T @ by_cell
        places = [self.first, *(self.n_first + j for j in self.rest)]
        for k, place in enumerate(places):
            out[self.columns + self.order[k]] = (
                by_cell @ at.effects[place] + at.weight @ with_own[k] - at.residual @ adjoint[place]
            )
        return out

    def movement(self, at: Mode) -> Vector:
        """Return how the standardised effects move with the parameters.

        Returns
        -------
        ndarray, shape (levels of all factors, columns + factors)
            ``d u / d theta``, in the order of elimination.
        """
        _, sds = self.split(at.theta)
        sides = [self.gather(at.weight * column, sds) for column in self.cells.design.T]
        by_factor: dict[int, Vector] = {}
        ones = np.ones(self.factors)
        own = self.gather(at.residual, ones)
        bounds = [0, *(self.n_first + self.offsets)]
        for k, place in enumerate([self.first, *(self.n_first + j for j in self.rest)]):
            side = self.gather(at.weight * at.effects[place], sds)
            low, high = int(bounds[k]), int(bounds[k + 1])
            side[low:high] += own[low:high]
            by_factor[self.order[k]] = side
        sides += [by_factor[k] for k in range(self.factors)]
        return -self.solve(at.diagonal, at.cross, at.factor, np.column_stack(sides))

    def evaluate(self, theta: Vector, start: Vector | None = None) -> tuple[float, Vector, Vector]:
        """Return minus the log-likelihood, its gradient, and the standardised effects."""
        at = self.mode(theta, start)
        return at.value, self.gradient(at), at.effects


def _product(left: Vector, right: Vector) -> Vector:
    """Return ``left @ right``, in pieces that the library computes on one core where it is small.

    A small product takes less time than waking other cores, and many
    times less where those are busy with other work.
    """
    rows, inner = left.shape
    work = rows * inner * right.shape[1]
    if not ALONE < work <= NOT_WORTH_CORES:
        return np.asarray(left @ right)
    pieces = -(-work // ALONE)
    if rows >= inner:
        return np.concatenate([part @ right for part in np.array_split(left, pieces)])
    out = np.zeros((rows, right.shape[1]))
    size = -(-inner // pieces)
    for first in range(0, inner, size):
        out += left[:, first : first + size] @ right[first : first + size]
    return out


def _back(factor: Vector, side: Vector) -> Vector:
    """Return the solution of ``factor @ factor.T @ x = side``.

    By LAPACK itself: it is called thousands of times on small systems, where the usual wrapper
    costs more than the work.
    """
    if side.ndim == 2 and len(factor) <= SMALL_SYSTEM:
        # With several right sides at once LAPACK wakes other cores, see _product.
        return np.column_stack([dpotrs(factor, column, lower=1)[0] for column in side.T])
    return np.asarray(dpotrs(factor, side, lower=1)[0])
