"""Before and after of people who were chosen: plainly, by chance alone, and adjusted."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import expit  # type: ignore[import-untyped]
from scipy.stats import t as student  # type: ignore[import-untyped]

from scoring.evidence import (
    Estimate,
    TooLittleEvidence,
    counted,
)
from scoring.variation.adjusted_rates import averaged
from scoring.variation.binomial import fit_binomial
from scoring.variation.laplace import Vector
from scoring.variation.logit_at import logit_at

DRAWS = 4000
"""Simulated comparisons without effect: the ends of their interval then move by some hundredths
of its width from seed to seed. A working judgement."""

Truth = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class People:
    """Sums of each person before and after a date.

    Attributes
    ----------
    codes : tuple of str
        Sorted.
    right, answers : ndarray, shape (people, 2)
        Successes and answers before and after.
    chosen : ndarray of bool, shape (people,)
        Who was chosen.
    """

    codes: tuple[str, ...]
    right: Vector
    answers: Vector
    chosen: Truth

    @property
    def both(self) -> Truth:
        """Who has answers on both sides."""
        return np.asarray((self.answers > 0).all(axis=1))

    @property
    def rates(self) -> Vector:
        """Rates before and after of those who have both, shape (of them, 2)."""
        return np.asarray(self.right[self.both] / self.answers[self.both])


def sums(
    right: Vector, answers: Vector, who: Sequence[str], after: Truth, chosen: Collection[str]
) -> People:
    """Return the sums of each person.

    Parameters
    ----------
    right, answers : ndarray, shape (rows,)
        Counts.
    who : sequence of str
        Person of each row.
    after : ndarray of bool, shape (rows,)
        Which side of the date.
    chosen : collection of str
        Codes.
    """
    codes, place = np.unique(np.asarray(who, dtype=str), return_inverse=True)
    flat = 2 * place + after
    shape, size = (len(codes), 2), 2 * len(codes)
    return People(
        tuple(map(str, codes)),
        np.bincount(flat, right, size).astype(float).reshape(shape),
        np.bincount(flat, answers, size).astype(float).reshape(shape),
        np.isin(codes, sorted(chosen)),
    )


def plain_difference(people: People, confidence: float) -> Estimate:
    """Return after minus before of those chosen, points of per cent, with its paired t interval.

    Each person counts the same, however many answers they gave.
    """
    rates = 100.0 * people.rates[people.chosen[people.both]]
    change = rates[:, 1] - rates[:, 0]
    n = len(change)
    half = float(student.ppf(0.5 + confidence / 2.0, n - 1) * change.std(ddof=1) / np.sqrt(n))
    value = float(change.mean())
    return Estimate(value, value - half, value + half, n, confidence)


def by_chance_alone(
    people: People,
    successes: Vector,
    trials: Vector,
    groups: Mapping[str, Sequence[Any]],
    after: Truth,
    seed: int,
    confidence: float,
) -> Estimate | TooLittleEvidence:
    """Return the plain difference to be expected of those chosen had nothing changed.

    Parameters
    ----------
    people : People
    successes, trials : ndarray, shape (rows,)
        Counts of the rows.
    groups : mapping of str to sequence
        ``operator`` and ``scenario`` of each row.
    after : ndarray of bool, shape (rows,)
    seed : int
    confidence : float

    Notes
    -----
    The model is fitted to the answers before alone, where nobody was retrained. Its
    adjusted rates of those chosen (empirical Bayes, at the scenarios each met before) are what
    they can be expected to do next; their raw rates before are what they were chosen by. The
    interval holds the plain differences of simulated departments: rates
    drawn from the posterior, and as many answers as were given after.
    """
    used = ~after & (trials > 0)
    kept_rows = np.flatnonzero(used).tolist()
    listed = {name: [labels[k] for k in kept_rows] for name, labels in groups.items()}
    fit = fit_binomial(successes[used], trials[used], groups=listed)
    if isinstance(fit, TooLittleEvidence):
        return fit
    picked = people.both & people.chosen
    cells = fit.problem.gathered.cells
    place = {code: k for k, code in enumerate(np.array(people.codes)[picked])}
    codes = fit.levels["operator"]
    mine = np.array([place.get(codes[k], -1) for k in cells.index[0]])
    kept = mine >= 0
    at = {g: index[kept] for g, index in zip(fit.groups, cells.index, strict=True)}
    found = logit_at(fit, cells.design[kept], at)
    person, weights = mine[kept], cells.trials[kept]
    total = np.bincount(person, weights)
    expected = np.bincount(person, weights * averaged(found.means, found.sds**2)) / total
    before = people.rates[people.chosen[people.both], 0]
    # One draw a person moves all of their scenarios together: what is uncertain is the person.
    rng = np.random.default_rng(seed)
    draws = rng.standard_normal((DRAWS, len(total)))
    rates = np.zeros((DRAWS, len(total)))
    for k in range(len(person)):
        i = person[k]
        rates[:, i] += weights[k] / total[i] * expit(found.means[k] + found.sds[k] * draws[:, i])
    counts = people.answers[picked, 1].astype(np.int64)
    shown = 100.0 * (rng.binomial(counts, np.clip(rates, 0.0, 1.0)) / counts - before).mean(axis=1)
    tail = (1.0 - confidence) / 2.0
    low, high = np.quantile(shown, [tail, 1.0 - tail])
    value = float(100.0 * np.mean(expected - before))
    return Estimate(value, min(float(low), value), max(float(high), value), len(total), confidence)


def adjusted_difference(people: People, confidence: float) -> Estimate | TooLittleEvidence:
    """Return the chosen minus the others after, given the same rate before, points of per cent.

    Ordinary least squares of the after-rate on the before-rate and being chosen, each person
    once, t interval (analysis of covariance).
    """
    rates, chosen = 100.0 * people.rates, people.chosen[people.both].astype(float)
    n = len(rates)
    if n < 5:
        said = (
            f"Only {counted(n, 'person', 'people')} with answers before and after; "
            "at least 5 are needed."
        )
        return TooLittleEvidence("people", said, n)
    design = np.column_stack([np.ones(n), chosen, rates[:, 0]])
    if np.linalg.matrix_rank(design) < 3:
        said = "The rates before do not differ within the groups, so nothing can be adjusted."
        return TooLittleEvidence("before", said, n)
    inverse = np.linalg.inv(design.T @ design)
    found = inverse @ design.T @ rates[:, 1]
    rest = rates[:, 1] - design @ found
    error = np.sqrt(inverse[1, 1] * float(rest @ rest) / (n - 3))
    half = float(student.ppf(0.5 + confidence / 2.0, n - 3) * error)
    value = float(found[1])
    return Estimate(value, value - half, value + half, n, confidence)
