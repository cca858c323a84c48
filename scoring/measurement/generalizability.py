"""Generalizability study: how much of the scores' variation each facet and interaction makes.

Own code, because the one kept library for it reads balanced tables only and gives no
intervals.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod, sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
)
from scoring.measurement.g_cells import Floats, ScoreCells, score_cells
from scoring.measurement.g_design import Design, Effect, read_design
from scoring.measurement.g_intervals import (
    ComponentInterval,
    plausible_balanced,
    plausible_simulated,
    quantiles,
    satterthwaite,
    ting,
)
from scoring.measurement.g_moments import (
    MeanSquares,
    henderson_weights,
    mean_squares,
    mean_weights,
    uncorrected,
)


@dataclass(frozen=True, slots=True)
class Component:
    """One effect of a design.

    Attributes
    ----------
    name : str
        As it is written: ``pi``, ``r:i``.
    effect : frozenset of str
        The facets that index it.
    raw : float
        The estimate as it came, which chance can put below 0. In squared score points.
    estimate : Estimate
        The same with 0 for a negative one, its interval never below 0, and as `n` the number
        of levels. No interval for incomplete data without a seed.
    share : float
        Part of the sum of all components (negative ones as 0), 0 to 1.
    levels : int
        Levels that were scored.
    degrees, sum_of_squares, mean_square : float or None
        Of the balanced analysis; None for incomplete data.
    standard_error : float or None
        Balanced: root of ``2 sum(weight^2 MS^2 / (df + 2))``, Brennan 2001, section 6.1
        (from memory). Incomplete: None.
    """

    name: str
    effect: Effect
    raw: float
    estimate: Estimate
    share: float
    levels: int
    degrees: float | None
    sum_of_squares: float | None
    mean_square: float | None
    standard_error: float | None

    @property
    def negative(self) -> bool:
        """Whether the raw estimate is below 0, so that 0 is used in its place."""
        return self.raw < 0


@dataclass(frozen=True, slots=True)
class GStudy:
    """Variance components of a design, all facets taken as random.

    Attributes
    ----------
    design : Design
    components : tuple of Component
        Fewer facets first; the last is the residual.
    sizes : dict of str to float
        Levels of each facet within what it is nested in (a mean where they differ).
    n : int
        Scores.
    mean : float
        Mean score.
    balanced : bool
        True: expected mean squares in closed form. False: Henderson's method 1.
    confidence : float
    said : tuple of str
        What a reader must know: components that came out negative, incomplete data.
    mean_weights, plausible, deviates : ndarray
        What D studies build their intervals on: the mean's variance as weights of the
        components, plausible components (sets x effects, none below 0; no rows if there are no
        intervals), normal deviates.
    """

    design: Design
    components: tuple[Component, ...]
    sizes: dict[str, float]
    n: int
    mean: float
    balanced: bool
    confidence: float
    said: tuple[str, ...]
    mean_weights: Floats
    plausible: Floats
    deviates: Floats

    def component(self, written: str) -> Component:
        """Return the component of an effect, named in any order: ``pi``, ``i x p``, ``r:i``."""
        effect = self.design.effect(written)
        return next(held for held in self.components if held.effect == effect)

    @property
    def values(self) -> Floats:
        """Components with 0 for negative ones, shape (effects,)."""
        return np.array([held.estimate.value for held in self.components])

    def mixed(self, fixed: Sequence[str], *, raw: bool = False) -> dict[str, float]:
        """Return the components with some facets fixed: their levels are all there are.

        Each component gets those of larger effects that differ from it by fixed facets only,
        over the numbers of their levels (Brennan 2001, equation 3.32, from memory).

        Parameters
        ----------
        fixed : sequence of str
        raw : bool
            Keep negative estimates instead of 0.

        Raises
        ------
        DataError
            A facet that the design does not have, or a nested facet fixed while the one
            that it is nested in is not.
        """
        held_fixed = check_fixed(self.design, fixed)
        found = {}
        for held in self.components:
            total = 0.0
            for other in self.components:
                more = other.effect - held.effect
                if held.effect <= other.effect and more <= held_fixed:
                    value = other.raw if raw else other.estimate.value
                    total += value / prod(self.sizes[facet] for facet in more)
            found[held.name] = total
        return found


def check_fixed(design: Design, fixed: Sequence[str]) -> frozenset[str]:
    """Return fixed facets as a set, or raise `DataError` where they cannot be."""
    for facet in fixed:
        if facet not in design.facets:
            raise DataError("fixed", facet, f"facets of {list(design.facets)}")
        loose = sorted(design.nested_in[facet] - set(fixed))
        if loose:
            raise DataError("fixed", facet, f"{' and '.join(loose)} fixed too, as it holds {facet}")
    return frozenset(fixed)


def g_study(
    scores: ArrayLike,
    facets: Mapping[str, Sequence[Any]],
    design: str,
    *,
    interval: ComponentInterval = "generalised",
    confidence: float = CONFIDENCE,
    seed: int | np.random.Generator | None = None,
) -> GStudy | TooLittleEvidence:
    """Estimate the variance components of a crossed or nested design.

    Parameters
    ----------
    scores : array-like, shape (rows,)
        One score for each row; NaN or None where missing. `long_form` makes rows of a table.
    facets : mapping of str to sequence
        Columns with the level of each facet; a data frame serves.
    design : str
        Such as ``p x i``, ``p x i x r``, ``p x (r:i)``, ``(r:p) x i``, ``i:p``; see
        `read_design`. With one score a cell, the largest effect holds the residual.
    interval : {"generalised", "satterthwaite", "ting"}
        Of components of balanced data. ``generalised`` covers 93-97 % in
        simulation; the others are those of textbooks (Brennan 2001, section 6.2).
    confidence : float
        Of each interval, under normal effects.
    seed : int or Generator, optional
        Needed for intervals of incomplete data, which are simulated.

    Returns
    -------
    GStudy or TooLittleEvidence
        Too little where a facet has one level, no score differs from another, or too few
        cells were scored to tell the components apart.

    Raises
    ------
    DataError
        See `read_design` and `score_cells`.

    Notes
    -----
    Balanced data: expected mean squares (Cronbach et al. 1972; Brennan 2001, chapters 3 and
    7; from memory). Otherwise the same squares with their exact expectations for the cells
    that were scored, Henderson's method 1 or analogous analysis of variance: unbiased
    whatever the pattern, without any assumption on the shape of the effects, and of a cost
    that grows with the rows only. Maximum likelihood is more precise when numbers in cells
    differ strongly.

    Intervals of balanced data cover 94-96 % in simulation (p x i, p x i x r), those of p x i
    with 30 % of the cells missing 95-96 %. With three facets and cells missing they are
    rough: with a fifth of p x i x r missing, 87 % for the residual and up to 99 % for
    interactions, 95-97 % for coefficients and errors of measurement.
    """
    check_confidence(confidence)
    read = read_design(design)
    cells = score_cells(scores, facets, read)
    if isinstance(cells, TooLittleEvidence):
        return cells
    if float(np.ptp(cells.scores)) == 0.0:
        return TooLittleEvidence("variance", "All scores are the same.", len(cells.scores))
    table: MeanSquares | None = None
    empty = np.empty((0, len(read.effects)))
    plausible, deviates = empty, np.empty(0)
    if cells.balanced:
        table = mean_squares(cells)
        raw = table.from_squares @ table.squares
        plausible, deviates = plausible_balanced(table)
    else:
        solve = henderson_weights(cells)
        if solve is None:
            said = (
                "Too few cells were scored to tell the parts of the design apart; "
                "let more persons meet the same levels."
            )
            return TooLittleEvidence("cells", said, len(cells.scores))
        raw = solve @ uncorrected(cells, cells.scores)
        if seed is not None:
            plausible, deviates = plausible_simulated(cells, np.maximum(raw, 0.0), solve, seed)
    raw = np.where(np.abs(raw) < np.finfo(float).eps * 64 * np.var(cells.scores), 0.0, raw)
    values = np.maximum(raw, 0.0)
    if values.sum() <= 0:
        return TooLittleEvidence("variance", "No part of the design varies.", len(cells.scores))
    limits = _limits(table, plausible, interval, confidence)
    components = tuple(
        _component(cells, table, place, float(raw[place]), float(values.sum()), limits, confidence)
        for place in range(len(read.effects))
    )
    return GStudy(
        read,
        components,
        cells.sizes,
        len(cells.scores),
        float(cells.scores.mean()),
        cells.balanced,
        confidence,
        _sentences(components, cells.balanced, seed is not None),
        mean_weights(cells),
        np.maximum(plausible, 0.0),
        deviates,
    )


def _limits(
    table: MeanSquares | None,
    plausible: Floats,
    interval: ComponentInterval,
    confidence: float,
) -> list[tuple[float, float] | None]:
    if table is None or interval == "generalised":
        if not len(plausible):
            return [None] * plausible.shape[1]
        return [quantiles(plausible[:, k], confidence) for k in range(plausible.shape[1])]
    formula = satterthwaite if interval == "satterthwaite" else ting
    return [
        formula(weights, table.squares, table.degrees, confidence) for weights in table.from_squares
    ]


def _component(
    cells: ScoreCells,
    table: MeanSquares | None,
    place: int,
    raw: float,
    total: float,
    limits: list[tuple[float, float] | None],
    confidence: float,
) -> Component:
    effect = cells.design.effects[place]
    value = max(raw, 0.0)
    ends = limits[place]
    low = None if ends is None else min(max(ends[0], 0.0), value)
    high = None if ends is None else max(ends[1], value)
    error = None
    if table is not None:
        parts = table.from_squares[place] ** 2 * table.squares**2 / (table.degrees + 2)
        error = sqrt(2 * float(parts.sum()))
    return Component(
        cells.design.name(effect),
        effect,
        raw,
        Estimate(value, low, high, cells.levels[effect], confidence),
        value / total,
        cells.levels[effect],
        None if table is None else float(table.degrees[place]),
        None if table is None else float(table.sums[place]),
        None if table is None else float(table.squares[place]),
        error,
    )


def _sentences(components: Sequence[Component], balanced: bool, seeded: bool) -> tuple[str, ...]:
    said = [
        f"The variance of {held.name} came out below 0 by chance; 0 is used in its place."
        for held in components
        if held.negative
    ]
    if not balanced:
        said.append("Not every cell of the design was scored, or not equally often.")
        if not seeded:
            said.append("Without a seed there are no intervals for incomplete data.")
    return tuple(said)
