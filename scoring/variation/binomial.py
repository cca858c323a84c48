"""Pass or fail with operator and scenario effects in one model: the fit.

A raw failure rate mixes who was at the sink with which scenarios came up and with
chance. The binomial mixed model takes the three apart:

    logit P(success) = fixed columns + operator + scenario (+ any further group)

with operators and scenarios drawn from normal populations whose spread is estimated.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.binomial_cells import LEAST_LEVELS, Gathered, gather
from scoring.variation.climbing import Climbed, climb
from scoring.variation.laplace import CrossedLaplace, Mode, Vector
from scoring.variation.quadrature import SingleQuadrature

LARGEST_SD = 10.0
"""A spread beyond this on the logit scale is no estimate: one standard deviation would then
turn 1 % into 99.6 %. The data hold operators (or scenarios) that always pass and others that
always fail, and nothing between. A working judgement, no source."""


MOST_POINTS = 150
"""Most nodes of the quadrature: the weights of more underflow in double precision."""


@dataclass(frozen=True, slots=True)
class Problem:
    """What a fit was computed from: for intervals and tests that refit it.

    Attributes
    ----------
    gathered : Gathered
        Cells with their names, design as given.
    likelihood : CrossedLaplace or SingleQuadrature
        Works on an orthogonal design, ``design @ back``.
    back : ndarray, shape (columns, columns)
        Coefficients are ``back @`` those of the orthogonal design.
    climbed : Climbed
        Maximum in the orthogonal coefficients, with the Hessian there.
    """

    gathered: Gathered
    likelihood: CrossedLaplace | SingleQuadrature
    back: Vector
    climbed: Climbed


@dataclass(frozen=True, slots=True, eq=False)
class BinomialFit:
    """A fitted binomial mixed model.

    Attributes
    ----------
    names : tuple of str
        Names of the fixed effects, ``(Intercept)`` first where there is one.
    coefficients : ndarray, shape (columns,)
        Fixed effects ``b`` on the logit scale.
    standard_errors : ndarray, shape (columns,)
        From the inverse Hessian of the log-likelihood in ``(b, sigma)`` together, as lme4
        gives them with ``use.hessian = TRUE``, its default.
    groups : tuple of str
        Names of the grouping factors.
    sds : dict of str to float
        Standard deviation of each factor's effects, logit scale.
    levels : dict of str to tuple of str
        Levels of each factor, sorted.
    effects, effect_sds : dict of str to ndarray
        Conditional modes (logit scale) and conditional standard deviations given the
        parameters (lme4's ``ranef`` with ``condVar``), in the order of `levels`.
    log_likelihood : float
        Laplace or quadrature log-likelihood, with the binomial constants of the rows as given.
    parameters : int
        Fixed effects and standard deviations.
    cells, answers : int
        Rows of different groups or columns; answers behind them.
    quadrature_points : int
        1 is the Laplace approximation.
    covariance : ndarray, shape (columns + groups, columns + groups)
        Covariance of ``(b, sigma)``; 0 for a spread estimated as 0.
    """

    names: tuple[str, ...]
    coefficients: Vector
    standard_errors: Vector
    groups: tuple[str, ...]
    sds: dict[str, float]
    levels: dict[str, tuple[str, ...]]
    effects: dict[str, Vector]
    effect_sds: dict[str, Vector]
    log_likelihood: float
    parameters: int
    cells: int
    answers: int
    quadrature_points: int
    covariance: Vector = field(repr=False)
    problem: Problem = field(repr=False)

    @property
    def aic(self) -> float:
        """Akaike's criterion, ``2 parameters - 2 log-likelihood``."""
        return 2.0 * self.parameters - 2.0 * self.log_likelihood

    def variance(self, group: str) -> float:
        """Return the variance of a group's effects, logit scale squared."""
        return self.sds[group] ** 2

    def coefficient(self, name: str, confidence: float = CONFIDENCE) -> Estimate:
        """Return a fixed effect with its Wald interval (normal quantile).

        For an interval by profile likelihood see
        :func:`scoring.variation.binomial_intervals.profile_coefficient`.
        """
        check_confidence(confidence)
        place = place_of(name, self.names)
        value = float(self.coefficients[place])
        half = float(norm.ppf(0.5 + confidence / 2) * self.standard_errors[place])
        return Estimate(value, value - half, value + half, self.answers, confidence)


def place_of(name: str, names: tuple[str, ...]) -> int:
    """Return where a group or column of a fit stands, or say which there are (`ValueError`)."""
    if name not in names:
        raise ValueError(f"{name!r}: wanted one of {', '.join(names)}")
    return names.index(name)


def fit_binomial(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None = None,
    *,
    groups: Mapping[str, Sequence[Any]],
    fixed: Mapping[str, Sequence[Any]] | npt.ArrayLike | None = None,
    intercept: bool = True,
    quadrature_points: int = 1,
    least_levels: int = LEAST_LEVELS,
) -> BinomialFit | TooLittleEvidence:
    """Fit a binomial mixed model with one or more crossed (or nested) grouping factors.

    Parameters
    ----------
    successes : array_like, shape (rows,)
        Successes of each row, or 0/1 answers where `trials` is None. NaN is missing.
    trials : array_like, shape (rows,), optional
        Answers behind each row. Rows with none are left out.
    groups : mapping of str to sequence of labels
        The grouping factors with normal random intercepts, as
        ``{"operator": codes, "scenario": names}``; a data frame works too. An interaction is
        a factor of its own with a label for each pair.
    fixed : mapping of str to sequence, or array_like of shape (rows, columns), optional
        Fixed columns. Numbers are taken as they are; text is split into one column a level,
        set against the first level in sorted order, and called ``namelevel``.
    intercept : bool
        Whether a column of ones called ``(Intercept)`` comes first.
    quadrature_points : int
        Nodes of the adaptive Gauss-Hermite quadrature (``nAGQ``): 1 is Laplace; more need
        exactly one grouping factor. 25 are exact for all purposes.
    least_levels : int
        Fewest levels of a factor.

    Returns
    -------
    BinomialFit or TooLittleEvidence
        ``missing`` is a group's name (too few levels), ``answers``, ``difference`` (all
        succeed or all fail), ``repeats``, ``links``, ``columns``, ``separation``, ``within``
        (each level always or never succeeds) or ``curvature``.

    Raises
    ------
    DataError
        Counts that are no counts, lengths that differ, a missing code or column value.
    ValueError
        No group, several with `quadrature_points` above 1, or tables too large for memory.

    Notes
    -----
    Maximum likelihood, with the Laplace approximation (or quadrature) maximised in the fixed
    effects and the standard deviations together, as lme4's ``glmer`` does with ``nAGQ >= 1``.
    Operators who pass everything or nothing are ordinary data. A spread may be estimated as
    exactly 0. Source of the method: see :mod:`scoring.variation.laplace`.
    """
    if not 1 <= quadrature_points <= MOST_POINTS:
        raise ValueError(f"quadrature_points {quadrature_points!r}: wanted 1 to {MOST_POINTS}")
    if quadrature_points > 1 and len(groups) != 1:
        raise ValueError("quadrature_points above 1 need exactly one group")
    gathered = gather(successes, trials, groups, fixed, intercept, least_levels)
    if isinstance(gathered, TooLittleEvidence):
        return gathered
    return fit_gathered(gathered, quadrature_points)


def fit_gathered(gathered: Gathered, quadrature_points: int = 1) -> BinomialFit | TooLittleEvidence:
    """Fit the model to cells that were checked before: the second half of `fit_binomial`."""
    cells = gathered.cells
    orthogonal, triangle = np.linalg.qr(cells.design)
    root = np.sqrt(len(cells.trials))
    back = root * np.linalg.inv(triangle)
    turned = type(cells)(cells.successes, cells.trials, orthogonal * root, cells.index, cells.sizes)
    likelihood: CrossedLaplace | SingleQuadrature = CrossedLaplace(turned)
    if quadrature_points > 1:
        likelihood = SingleQuadrature(turned, quadrature_points)
    climbed = climb(likelihood, largest_sd=LARGEST_SD)
    answers = int(cells.trials.sum())
    if climbed.runaway is not None:
        name = gathered.groups[climbed.runaway]
        said = (
            f"Each of “{name}” succeeds nearly always or nearly never, so the spread between "
            "them has no end."
        )
        return TooLittleEvidence("within", said, answers)
    covariance = climbed.covariance
    if covariance is None:
        said = "The answers do not settle the size of the effects."
        return TooLittleEvidence("curvature", said, answers)
    problem = Problem(gathered, likelihood, back, climbed)
    return _result(problem, covariance, quadrature_points)


def _result(problem: Problem, inner: Vector, quadrature_points: int) -> BinomialFit:
    gathered, climbed, back = problem.gathered, problem.climbed, problem.back
    cells, likelihood = gathered.cells, problem.likelihood
    columns = cells.design.shape[1]
    wide = np.eye(columns + len(gathered.groups))
    wide[:columns, :columns] = back
    covariance = wide @ inner @ wide.T
    sds = climbed.theta[columns:]
    laplace: CrossedLaplace = getattr(likelihood, "laplace", likelihood)  # type: ignore[arg-type]
    mode: Mode = laplace.mode(climbed.theta, climbed.effects)
    parts, variances = laplace.parts(mode.effects), laplace.variances(mode)
    return BinomialFit(
        names=gathered.names,
        coefficients=back @ climbed.theta[:columns],
        standard_errors=np.sqrt(np.diag(covariance)[:columns]),
        groups=gathered.groups,
        sds=dict(zip(gathered.groups, map(float, sds), strict=True)),
        levels=dict(zip(gathered.groups, gathered.levels, strict=True)),
        effects={g: sd * u for g, sd, u in zip(gathered.groups, sds, parts, strict=True)},
        effect_sds={
            g: sd * np.sqrt(v) for g, sd, v in zip(gathered.groups, sds, variances, strict=True)
        },
        log_likelihood=gathered.constant - climbed.value,
        parameters=columns + len(sds),
        cells=len(cells.trials),
        answers=int(cells.trials.sum()),
        quadrature_points=quadrature_points,
        covariance=covariance,
        problem=problem,
    )
