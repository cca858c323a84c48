"""Success that changes ever more slowly with practice or with time away: one curve for both.

    logit P(success) = far - gap * shape(x) + operator + scenario

``exponential``: ``shape = exp(-x / tau)``, so that ``far`` is the level far out and ``gap`` what
is lacking at 0 (below 0: what is still there at 0 and fades). ``power``: ``shape = -log(1 + x)``,
which has no level far out. `tau` is profiled: the model is fitted at each of a grid of values, and
each counts in the measure of its likelihood.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import logsumexp  # type: ignore[import-untyped]

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_cells import count_rows
from scoring.variation.laplace import Vector

Shape = Literal["exponential", "power"]

COLUMN = "curve"

TAUS = 9
"""Values of tau tried, each the same factor above the one before; then as many again over the
stretch that the data bear. A working judgement."""

SHORTEST, LONGEST = 0.02, 2.0
"""Tau tried, as parts of the range of the data. Quicker changes end between the first two
answers; slower ones look like a straight line. A working judgement."""

LEAST_VALUES = 4
"""Fewest different numbers of practices (or months): a curve through three points bends as
it likes. A working judgement, no source."""

LIGHTEST = 6.0
"""A tau less likely than e to minus this, against the best, is left out. An assumption: what is
beyond weighs some thousandths."""

NODES, WEIGHTS = hermegauss(15)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
NODES.flags.writeable = WEIGHTS.flags.writeable = False


@dataclass(frozen=True, slots=True)
class Curve:
    """A fitted curve.

    Attributes
    ----------
    shape : {"exponential", "power"}
    taus : ndarray, shape (nodes,)
        In the unit of `x`; one value of no meaning for ``power``.
    fits : tuple of BinomialFit
        One each; columns ``(Intercept)`` and ``curve`` first.
    weights : ndarray, shape (nodes,)
        Adding up to 1.
    reach : float
        Largest `x` of the data.
    answers : int
    """

    shape: Shape
    taus: Vector
    fits: tuple[BinomialFit, ...]
    weights: Vector
    reach: float
    answers: int

    @property
    def best(self) -> int:
        """Place of the likeliest tau."""
        return int(np.argmax([fit.log_likelihood for fit in self.fits]))

    def at_best(self) -> tuple[float, float]:
        """Return level and change at the likeliest tau."""
        level, change = _middle(self.fits[self.best])
        return float(level), float(change)

    def column(self, x: npt.ArrayLike, node: int) -> Vector:
        """Return the curve's column at `x`."""
        return column(self.shape, np.asarray(x, dtype=float), float(self.taus[node]))

    def draws(self) -> tuple[Vector, Vector, Vector, Vector, Vector]:
        """Return weighted points of what the data leave open.

        Returns
        -------
        far, change, tau, spread, weight : ndarray, shape (points,)
            ``far + change * column`` is the average operator's logit; `spread` is the standard
            deviation of operators. Quadrature points of a normal at each tau, not
            random.
        """
        parts = []
        first, second = np.meshgrid(NODES, NODES, indexing="ij")
        weight = np.outer(WEIGHTS, WEIGHTS).ravel()
        for tau, fit, mass in zip(self.taus, self.fits, self.weights, strict=True):
            mean = _middle(fit)
            root = np.linalg.cholesky(_covariance(fit) + 1e-12 * np.eye(2))
            points = mean[:, None] + root @ np.vstack([first.ravel(), second.ravel()])
            size = len(weight)
            parts.append(
                (
                    points[0],
                    points[1],
                    np.full(size, tau),
                    np.full(size, fit.sds["operator"]),
                    mass * weight,
                )
            )
        joined = [np.concatenate(group) for group in zip(*parts, strict=True)]
        return joined[0], joined[1], joined[2], joined[3], joined[4]


def column(shape: Shape, x: Vector, tau: Vector | float) -> Vector:
    """Return the curve's column, which rises with `x` for ``power`` and falls for the other."""
    if shape == "power":
        return np.asarray(np.log1p(x))
    return np.asarray(np.exp(-x / tau))


def _map(fit: BinomialFit) -> Vector:
    """Return the rows that give level and change at average values of further columns."""
    cells = fit.problem.gathered.cells
    rows = np.zeros((2, len(fit.names)))
    rows[0] = (cells.trials @ cells.design) / cells.trials.sum()
    rows[0, 1] = 0.0
    rows[1, 1] = 1.0
    return rows


def _middle(fit: BinomialFit) -> Vector:
    return np.asarray(_map(fit) @ fit.coefficients)


def _covariance(fit: BinomialFit) -> Vector:
    rows, columns = _map(fit), len(fit.names)
    return np.asarray(rows @ fit.covariance[:columns, :columns] @ rows.T)


def fit_curve(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None,
    x: npt.ArrayLike,
    operators: Sequence[Any],
    scenarios: Sequence[Any] | None,
    fixed: Mapping[str, Sequence[Any]] | None,
    shape: Shape,
    name: str,
) -> Curve | TooLittleEvidence:
    """Fit the curve to answers.

    Parameters
    ----------
    successes, trials : array_like, shape (rows,)
        Counts; 0/1 answers where `trials` is None. NaN is missing.
    x : array_like, shape (rows,)
        Practices or time, 0 or more.
    operators, scenarios : sequence of labels, shape (rows,)
    fixed : mapping, optional
        Further columns.
    shape : {"exponential", "power"}
    name : str
        What `x` is called in messages.

    Raises
    ------
    DataError
        A value of `x` that is no number of 0 or more, lengths that differ, bad counts.
    """
    y, m = count_rows(successes, trials)
    try:
        where = np.asarray(x, dtype=float)
    except (TypeError, ValueError) as error:
        raise DataError(name, type(x).__name__, "numbers") from error
    if where.shape != y.shape:
        raise DataError(name, where.shape, f"as many as successes, {len(y)}")
    m = np.where(np.isnan(where), 0.0, m)
    wrong = np.flatnonzero((where < 0) | np.isinf(where))
    if wrong.size:
        raise DataError(f"{name}, row {wrong[0] + 1}", float(where[wrong[0]]), "0 or more")
    used = m > 0
    values = np.unique(where[used])
    if len(values) < LEAST_VALUES:
        said = f"Only {len(values)} different {name}; at least {LEAST_VALUES} are needed."
        return TooLittleEvidence(name, said, len(values))
    groups = {"operator": list(map(str, operators))}
    if scenarios is not None:
        groups["scenario"] = list(map(str, scenarios))
    reach = float(values[-1])
    right, where = np.where(used, y, 0.0), np.where(used, where, 0.0)

    def fitted(tau: float) -> BinomialFit | TooLittleEvidence:
        columns: dict[str, Any] = {COLUMN: column(shape, where, tau), **(fixed or {})}
        return fit_binomial(right, m, groups=groups, fixed=columns)

    if shape == "power":
        only = fitted(1.0)
        if isinstance(only, TooLittleEvidence):
            return only
        return Curve(shape, np.ones(1), (only,), np.ones(1), reach, only.answers)
    coarse = _fits(fitted, np.geomspace(SHORTEST, LONGEST, TAUS) * reach)
    if isinstance(coarse, TooLittleEvidence):
        return coarse
    # The coarse grid finds where the likelihood lies, the fine one, over that stretch, its form.
    logs = np.array([fit.log_likelihood for _, fit in coarse])
    near = np.flatnonzero(logs > logs.max() - LIGHTEST)
    ends = coarse[max(0, near[0] - 1)][0], coarse[min(len(coarse) - 1, near[-1] + 1)][0]
    fine = _fits(fitted, np.geomspace(*ends, TAUS)) if ends[0] < ends[1] else coarse
    if isinstance(fine, TooLittleEvidence):
        return fine
    logs = np.array([fit.log_likelihood for _, fit in fine])
    near = np.flatnonzero(logs > logs.max() - LIGHTEST)
    weights = np.exp(logs[near] - logsumexp(logs[near]))
    kept = [fine[k] for k in near]
    taus, fits = np.array([tau for tau, _ in kept]), tuple(fit for _, fit in kept)
    return Curve(shape, taus, fits, weights, reach, fits[0].answers)


def _fits(
    fitted: Callable[[float], BinomialFit | TooLittleEvidence], taus: Vector
) -> list[tuple[float, BinomialFit]] | TooLittleEvidence:
    """Return the fits of those values of tau at which there is one."""
    found: list[tuple[float, BinomialFit]] = []
    refused: TooLittleEvidence | None = None
    for tau in map(float, taus):
        fit = fitted(tau)
        if isinstance(fit, TooLittleEvidence):
            refused = fit
        else:
            found.append((tau, fit))
    return found if refused is None or found else refused


def quantiles(values: Vector, weights: Vector, confidence: float) -> tuple[float, float, float]:
    """Return the lower end, the median and the upper end of weighted points (infinity allowed)."""
    order = np.argsort(values, kind="stable")
    total = np.cumsum(weights[order]) / weights.sum()
    tail = (1.0 - confidence) / 2.0
    places = np.searchsorted(total, [tail, 0.5, 1.0 - tail])
    found = values[order][np.minimum(places, len(values) - 1)]
    return float(found[0]), float(found[1]), float(found[2])
