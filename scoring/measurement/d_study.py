"""Decision study: how dependable scores would be with other numbers of scenarios and raters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod, sqrt
from typing import Literal

import numpy as np

from scoring.evidence import DataError, Estimate, TooLittleEvidence
from scoring.measurement.g_cells import Floats
from scoring.measurement.g_design import Design, read_design
from scoring.measurement.g_intervals import quantiles
from scoring.measurement.generalizability import GStudy, check_fixed

MeanFrom = Literal["g_study", "d_study"]


@dataclass(frozen=True, slots=True)
class DStudy:
    """Dependability of the mean score of a person over the levels of a D study.

    Attributes
    ----------
    design : str
    object_of_measurement : str
    n : dict of str to float
        Levels of each other facet that a person's mean score is taken over.
    fixed : tuple of str
    universe_variance : Estimate
        Of true means between persons, in squared score points. `n` is the persons
        of the G study, here and below.
    relative_error_variance, absolute_error_variance : Estimate
        For telling persons apart, and for the score itself.
    sem_relative, sem_absolute : Estimate
        Their roots, in score points.
    erho2, phi : Estimate or TooLittleEvidence
        Generalizability coefficient (relative) and index of dependability (absolute), 0 to
        1. Too little if there is neither difference nor error.
    phi_lambda : Estimate, TooLittleEvidence or None
        Dependability about the cut; None without a cut.
    contributions : dict of str to float
        What each effect of the G study adds to the variance of a mean score.
    """

    design: str
    object_of_measurement: str
    n: dict[str, float]
    fixed: tuple[str, ...]
    universe_variance: Estimate
    relative_error_variance: Estimate
    absolute_error_variance: Estimate
    sem_relative: Estimate
    sem_absolute: Estimate
    erho2: Estimate | TooLittleEvidence
    phi: Estimate | TooLittleEvidence
    phi_lambda: Estimate | TooLittleEvidence | None
    contributions: dict[str, float]


@dataclass(frozen=True, slots=True)
class Weights:
    """Which components, and over how much, make what of a D study; shape (effects,) each."""

    universe: Floats
    relative: Floats
    absolute: Floats


def d_weights(
    study: GStudy,
    design: Design,
    n: Mapping[str, float],
    object_facet: str,
    fixed: frozenset[str],
    within: bool,
) -> Weights:
    """Return the weights of the G study's components in universe score and errors."""
    outer = study.design.nested_in[object_facet]
    objects = outer | {object_facet}
    shape = len(study.components)
    universe, relative, absolute = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for place, held in enumerate(study.components):
        effect = design.closed(held.effect)
        share = 1.0 / prod(n[facet] for facet in effect - objects)
        random = effect - objects - fixed
        marks = effect & (frozenset({object_facet}) if within else objects)
        if random:
            absolute[place] = share
            relative[place] = share if marks else 0.0
        elif marks:
            universe[place] = share
    return Weights(universe, relative, absolute)


def d_study(
    study: GStudy,
    n: Mapping[str, float] | None = None,
    *,
    design: str | None = None,
    object_of_measurement: str | None = None,
    fixed: Sequence[str] = (),
    within: bool = False,
    cut: float | None = None,
    mean_from: MeanFrom = "g_study",
) -> DStudy:
    """Return what mean scores over chosen numbers of levels are worth.

    Parameters
    ----------
    study : GStudy
    n : mapping of str to float, optional
        Levels of each facet but the object, at least 1 (nested: within a level of the outer
        one); the G study's own where not given.
    design : str, optional
        Of the D study, with the G study's facets; it may nest what was crossed
        (``p x (r:i)`` from ``p x i x r``), never the other way round.
    object_of_measurement : str, optional
        Who or what is compared; see `Design.object_facet` for the default.
    fixed : sequence of str
        Facets whose levels are all that matter: what they share with persons is no error.
    within : bool
        Where the object is nested (persons in sites): compare within one level of the
        outer facet, instead of all with all.
    cut : float, optional
        Cut score as a mean score (a proportion for 0/1 items), for Phi(lambda).
    mean_from : {"g_study", "d_study"}
        Numbers of levels in the bias correction of Phi(lambda): of the G study, where the
        mean was found, or of the D study. Equal where the numbers are.

    Returns
    -------
    DStudy

    Raises
    ------
    DataError
        An unknown facet, fewer than one level, or crossing what the G study nested.

    Notes
    -----
    Brennan 2001, chapters 1-5; Phi(lambda) after Brennan and Kane 1977, with the mean's
    variance taken off the squared distance from the cut, also where that leaves less than 0
    (from memory).
    Coverage of the intervals: see `g_study`.
    """
    planned = read_design(design) if design is not None else study.design
    if set(planned.facets) != set(study.design.facets):
        raise DataError("design", design, f"the facets {list(study.design.facets)}")
    for facet in planned.facets:
        if not study.design.nested_in[facet] <= planned.nested_in[facet]:
            raise DataError("design", design, f"{facet} nested as in {study.design.text}")
    who = planned.object_facet(object_of_measurement)
    if planned.nested_in[who] != study.design.nested_in[who]:
        raise DataError("design", design, f"{who} nested as in {study.design.text}")
    held_fixed = check_fixed(planned, fixed)
    outer = study.design.nested_in[who]
    sizes = _numbers(study, n or {}, who, outer)
    if who in held_fixed:
        raise DataError("fixed", who, "facets other than the object of measurement")
    weights = d_weights(study, planned, sizes, who, held_fixed, within)
    mean_weights = study.mean_weights
    if mean_from == "d_study":
        mean_weights = np.array(
            [1.0 / prod(sizes[f] for f in planned.closed(c.effect)) for c in study.components]
        )
    made = _Made(study, weights, mean_weights, who)
    labels = [c.name for c in study.components]
    parts = np.maximum(weights.universe, weights.absolute) * study.values
    error = made.variance(weights.relative)
    whole = made.variance(weights.absolute)
    return DStudy(
        planned.text,
        who,
        {f: sizes[f] for f in planned.facets if f != who and f not in outer},
        tuple(fixed),
        made.variance(weights.universe),
        error,
        whole,
        _root(error),
        _root(whole),
        made.coefficient(weights.relative, None),
        made.coefficient(weights.absolute, None),
        None if cut is None else made.coefficient(weights.absolute, cut),
        dict(zip(labels, map(float, parts), strict=True)),
    )


class _Made:
    # Figures of one D study, at the estimates and at each plausible set of components.
    def __init__(self, study: GStudy, weights: Weights, mean: Floats, who: str) -> None:
        self.study, self.weights, self.mean = study, weights, mean
        closed = study.design.closed(frozenset({who}))
        self.n = next(c.levels for c in study.components if c.effect == closed)

    def variance(self, weights: Floats) -> Estimate:
        study = self.study
        value = float(weights @ study.values)
        if not len(study.plausible):
            return Estimate(value, None, None, self.n, study.confidence)
        low, high = quantiles(study.plausible @ weights, study.confidence)
        return Estimate(value, min(low, value), max(high, value), self.n, study.confidence)

    def coefficient(self, errors: Floats, cut: float | None) -> Estimate | TooLittleEvidence:
        study, universe = self.study, self.weights.universe
        off = 0.0
        if cut is not None:
            off = (study.mean - cut) ** 2 - float(self.mean @ study.values)
        signal, noise = float(universe @ study.values) + off, float(errors @ study.values)
        if signal + noise <= 0:
            said = "Neither persons nor their scores differ, so there is no coefficient."
            return TooLittleEvidence("variance", said, self.n)
        value = max(signal, 0.0) / (signal + noise)
        if not len(study.plausible):
            return Estimate(value, None, None, self.n, study.confidence)
        signals, noises = study.plausible @ universe, study.plausible @ errors
        if cut is not None:
            spread = np.sqrt(study.plausible @ study.mean_weights)
            signals = signals + (study.mean + study.deviates * spread - cut) ** 2
        total = signals + noises
        drawn = np.divide(signals, total, out=np.zeros_like(total), where=total > 0)
        low, high = quantiles(drawn, study.confidence)
        return Estimate(value, min(low, value), max(high, value), self.n, study.confidence)


def _numbers(
    study: GStudy, n: Mapping[str, float], who: str, outer: frozenset[str]
) -> dict[str, float]:
    sizes = dict(study.sizes)
    for facet, number in n.items():
        if facet not in sizes or facet == who or facet in outer:
            raise DataError("n", facet, f"facets other than {who}, of {list(sizes)}")
        if not np.isfinite(number) or number < 1:
            raise DataError(f"n of {facet}", number, "at least 1 level")
        sizes[facet] = float(number)
    return sizes


def _root(of: Estimate) -> Estimate:
    low = None if of.low is None else sqrt(of.low)
    high = None if of.high is None else sqrt(of.high)
    return Estimate(sqrt(of.value), low, high, of.n, of.confidence)
