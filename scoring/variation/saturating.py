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

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.values_given import numbers_given
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_cells import count_rows
from scoring.variation.binomial_intervals import sd_profile
from scoring.variation.laplace import Vector

Shape = Literal["exponential", "power"]

COLUMN, SCENARIO = "curve", "scenario"

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

SCATTERS = 12
"""Spreads of the scenarios that are weighed, evenly apart. An assumption."""

WIDEST = 3.0
"""Largest spread of the scenarios that is weighed, logit scale: two or three scenarios set no end
of their own. A working judgement, no source."""

NODES, WEIGHTS = hermegauss(15)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
NODES.flags.writeable = WEIGHTS.flags.writeable = False

FEW_NODES, FEW_WEIGHTS = hermegauss(5)
FEW_WEIGHTS = FEW_WEIGHTS / FEW_WEIGHTS.sum()
FEW_NODES.flags.writeable = FEW_WEIGHTS.flags.writeable = False


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
    scatter, scatter_weights : ndarray, shape (spreads,)
        Spreads of the scenarios that the data leave open, logit scale, and how likely each is,
        adding up to 1; a single 0 where there are no scenarios.
    reach : float
        Largest `x` of the data.
    answers : int
    """

    shape: Shape
    taus: Vector
    fits: tuple[BinomialFit, ...]
    weights: Vector
    scatter: Vector
    scatter_weights: Vector
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
            deviation of operators. Quadrature points of a normal at each tau and each spread of
            the scenarios, not random.

        Notes
        -----
        The level is the mean over few scenarios, and their spread is little known: held at its
        estimate, often 0, it makes the level look surer than it is.
        """
        parts = []
        first, second, third = map(np.ravel, np.meshgrid(NODES, NODES, FEW_NODES, indexing="ij"))
        weight = np.einsum("i,j,k->ijk", WEIGHTS, WEIGHTS, FEW_WEIGHTS).ravel()
        both = [
            (tau, fit, sd, mass * share)
            for tau, fit, mass in zip(self.taus, self.fits, self.weights, strict=True)
            for sd, share in zip(self.scatter, self.scatter_weights, strict=True)
        ]
        for tau, fit, sd, mass in both:
            mean = _middle(fit)
            root = np.linalg.cholesky(_widened(fit, float(sd)) + 1e-12 * np.eye(2))
            points = mean[:, None] + root @ np.vstack([first, second])
            size = len(weight)
            place = len(fit.names) + fit.groups.index("operator")
            error = float(np.sqrt(fit.covariance[place, place]))
            parts.append(
                (
                    points[0],
                    points[1],
                    np.full(size, tau),
                    np.maximum(0.0, fit.sds["operator"] + error * third),
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


def _widened(fit: BinomialFit, sd: float) -> Vector:
    """Return the covariance of level and change were the spread of the scenarios `sd`."""
    covariance = _covariance(fit)
    if SCENARIO not in fit.sds:
        return covariance
    number = len(fit.levels[SCENARIO])
    rest = covariance[0, 0] - covariance[0, 1] ** 2 / covariance[1, 1]
    # What the scenarios add to the level; without it something must stay, so never all of it.
    held = min(fit.sds[SCENARIO] ** 2 / number, 0.9 * rest)
    covariance[0, 0] += sd**2 / number - held
    return covariance


def _scatter(fit: BinomialFit) -> tuple[Vector, Vector]:
    """Return spreads of the scenarios and how likely each is, by its profile likelihood.

    All spreads count the same before the data are seen; with scenarios that are known
    exactly the level then has the t distribution with one degree of freedom fewer than scenarios.
    """
    if SCENARIO not in fit.sds:
        return np.zeros(1), np.ones(1)
    profile, best, error = sd_profile(fit, SCENARIO)
    top = best + max(error, 0.1)
    while top < WIDEST and profile.lost(top) < 2.0 * LIGHTEST:
        top += max(top - best, 0.1)
    sds = np.linspace(0.0, min(top, WIDEST), SCATTERS)
    logs = np.array([-0.5 * profile.lost(float(sd)) for sd in sds])
    return sds, np.exp(logs - logsumexp(logs))


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
    where = numbers_given(x, name)
    if where.shape != y.shape:
        raise DataError(name, where.shape, f"as many as successes, {len(y)}")
    m = np.where(np.isnan(where), 0.0, m)
    wrong = np.flatnonzero((where < 0) | np.isinf(where))
    if wrong.size:
        raise DataError(f"{name}, row {wrong[0] + 1}", float(where[wrong[0]]), "0 or more")
    used = m > 0
    values = np.unique(where[used])
    if len(values) < LEAST_VALUES:
        said = (
            f"Only {counted(len(values), 'different number')} of {name}; "
            f"at least {LEAST_VALUES} are needed."
        )
        return TooLittleEvidence(name, said, len(values))
    groups = {"operator": list(map(str, operators))}
    if scenarios is not None:
        groups[SCENARIO] = list(map(str, scenarios))
    reach = float(values[-1])
    right, where = np.where(used, y, 0.0), np.where(used, where, 0.0)

    more = {} if fixed is None else dict(fixed.items())

    def fitted(tau: float) -> BinomialFit | TooLittleEvidence:
        columns: dict[str, Any] = {COLUMN: column(shape, where, tau), **more}
        return fit_binomial(right, m, groups=groups, fixed=columns)

    if shape == "power":
        only = fitted(1.0)
        if isinstance(only, TooLittleEvidence):
            return only
        return Curve(shape, np.ones(1), (only,), np.ones(1), *_scatter(only), reach, only.answers)
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
    scatter = _scatter(fits[int(np.argmax(weights))])
    return Curve(shape, taus, fits, weights, *scatter, reach, fits[0].answers)


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
