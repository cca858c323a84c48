"""How hard each item is, by the Rasch model with a normal population of persons.

In the Rasch model the odds of a right answer are exp(ability - difficulty). Abilities
are normal; difficulties are fixed numbers, estimated by marginal maximum likelihood
(Bock RD, Aitkin M (1981), Psychometrika 46:443-459; Thissen D (1982), Psychometrika
47:175-186; both from memory). What a person did not meet is left out of the
likelihood, so forms with some items in common are put on one scale at once.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.ability_grid import ability_grid
from scoring.measurement.climb import climb
from scoring.measurement.rasch_marginal import RaschMarginal
from scoring.measurement.rating_grid import in_order
from scoring.measurement.right_wrong import Answers, Floats, answers, islands, usable

FEWEST_PERSONS = 10
"""Persons needed for a calibration. Far below the 30 that textbooks call a rough guide (common
practice, no source); the intervals tell the rest. A working judgement."""

FEWEST_ITEMS = 2
"""With one item nobody's answers can be compared: spread and difficulty are the same thing."""

NO_SPREAD = 1e-2
"""A spread of ability below this, in logits, is none: persons one SD apart then differ by a
quarter of a percentage point. A working judgement, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class RaschFit:
    """Difficulties of items on one scale.

    Attributes
    ----------
    items : tuple
        Names, in the order of the table.
    difficulty, standard_error : ndarray of float, shape (items,)
        In logits, with discrimination 1 and the mean ability of the (first) population
        at 0. Higher is harder.
    covariance : ndarray of float, shape (items, items)
        Of the difficulties, from the observed information.
    spread, spread_error : float
        Standard deviation of ability, in logits, of the (first) population.
    populations : dict
        For each population its mean and SD, each an `Estimate` (mean of the first: 0, no interval).
    discrimination : float
        The same model told with ability of variance 1: common discrimination; equals `spread`.
    standardised_difficulty, standardised_error : ndarray of float, shape (items,)
        The same with ability of variance 1: ``difficulty / spread``; errors by the delta method.
    log_likelihood : float
        At the maximum, without constants of the counts of patterns.
    parameters : int
        Number of parameters estimated.
    n : int
        Persons with at least one usable answer.
    n_answers : ndarray of int, shape (items,)
        Answers to each item.
    dropped : dict
        Items without an estimate, each with the reason.
    answers : Answers
        What was used.
    confidence : float
    """

    items: tuple[Hashable, ...]
    difficulty: Floats
    standard_error: Floats
    covariance: Floats
    spread: float
    spread_error: float
    populations: dict[Hashable, tuple[Estimate, Estimate]]
    standardised_difficulty: Floats
    standardised_error: Floats
    log_likelihood: float
    parameters: int
    n: int
    n_answers: Floats
    dropped: dict[Hashable, TooLittleEvidence]
    answers: Answers
    confidence: float = CONFIDENCE

    @property
    def discrimination(self) -> float:
        """Common discrimination where ability has variance 1."""
        return self.spread

    @property
    def aic(self) -> float:
        """Akaike's criterion: ``2 * parameters - 2 * log_likelihood``."""
        return 2.0 * self.parameters - 2.0 * self.log_likelihood

    @property
    def bic(self) -> float:
        """Schwarz's criterion, with the number of persons."""
        return float(np.log(self.n)) * self.parameters - 2.0 * self.log_likelihood

    def of(self, item: Hashable) -> Estimate | TooLittleEvidence:
        """Return the difficulty of one item with its interval; `n` counts its answers."""
        if item in self.dropped:
            return self.dropped[item]
        if item not in self.items:
            raise DataError("item", item, "an item of this fit")
        at = self.items.index(item)
        value, half = float(self.difficulty[at]), float(self.standard_error[at])
        half *= NormalDist().inv_cdf(0.5 + self.confidence / 2)
        n = int(self.n_answers[at])
        return Estimate(value, value - half, value + half, n, self.confidence)


def rasch(
    responses: ArrayLike | Answers,
    *,
    counts: ArrayLike | None = None,
    items: Sequence[Hashable] | None = None,
    groups: Sequence[Hashable] | None = None,
    reference: Hashable | None = None,
    randomly_equivalent: bool = False,
    points: int | None = None,
    confidence: float = CONFIDENCE,
) -> RaschFit | TooLittleEvidence:
    """Estimate item difficulties by marginal maximum likelihood.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong, NaN or None where not asked; see `right_wrong.answers`.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs, for a table of response patterns.
    items : sequence, optional
        Names of the columns.
    groups : sequence, optional, shape (persons,)
        The population of each row, if there are several: each gets a mean and an SD
        of its own. Without it all persons are one population.
    reference : optional
        The group whose mean ability is 0; otherwise the first in sorted order.
    randomly_equivalent : bool
        Forms without a common item are put on one scale only if this says that their
        persons (of the same group) are random parts of one population.
    points : int, optional
        Gauss-Hermite points, to do as older programs did; otherwise an even grid that
        is exact to about 1e-10 for tests of any length.
    confidence : float
        Of the intervals.

    Returns
    -------
    RaschFit or TooLittleEvidence
        Too little: fewer than 10 persons or 2 usable items, forms that share no item, or no
        difference between persons beyond chance. Items that all have right or all
        have wrong are left out, with the reason, in `RaschFit.dropped`.

    Raises
    ------
    DataError
        An answer that is neither 0 nor 1; names, counts or groups that do not fit.

    Notes
    -----
    Newton's method on the exact observed information; standard errors are from it,
    intervals are Wald's. Missing answers must be missing by design, or at least for no
    reason that has to do with the answer.
    """
    check_confidence(confidence)
    read = answers(responses, counts=counts, items=items)
    if groups is not None and len(groups) != len(read.counts):
        raise DataError("groups", len(groups), f"{len(read.counts)}, one for each row")
    used, dropped, rows = usable(read)
    short = too_few(used, dropped)
    if short is not None:
        return short
    named = ["all"] * len(read.counts) if groups is None else list(groups)
    member = [named[row] for row in rows]
    names = in_order(set(member))
    if reference is not None:
        if reference not in names:
            raise DataError("reference", reference, f"one of the groups {names}")
        names = (reference, *(name for name in names if name != reference))
    apart = islands(used, member if randomly_equivalent else None)
    if len(apart) > 1:
        said = (
            f"The answers fall into {len(apart)} sets of items that nobody ties together. "
            "Give some people items of both, or say that the groups are random parts of one."
        )
        return TooLittleEvidence("common items", said, used.n)
    code = {name: at for at, name in enumerate(names)}
    member_code = np.array([code[name] for name in member], dtype=np.int64)
    longest, guess = int(used.given.sum(axis=1).max()), 1.5
    start: Floats | None = None
    while True:
        model = RaschMarginal(used, member_code, *ability_grid(longest, guess, points))
        try:
            begin = model.start() if start is None else start
            at, value, information, _ = climb(begin, model.roughly, model.evaluate)
        except ArithmeticError:
            return TooLittleEvidence("maximum", "The answers fit no such scale.", used.n)
        spreads = np.abs(at[len(used.items) : len(used.items) + len(names)])
        if points is not None or spreads.max() <= guess:
            break
        guess, start = 1.2 * float(spreads.max()), at
    if spreads.min() < NO_SPREAD:
        said = (
            "The answers differ no more between people than chance alone would make them, so "
            "there is no scale of ability to put the items on."
        )
        return TooLittleEvidence("spread", said, used.n)
    return _told(used, names, at, value, information, dropped, confidence, member_code)


def too_few(used: Answers, dropped: dict[Hashable, TooLittleEvidence]) -> TooLittleEvidence | None:
    """Say what a calibration lacks, or None: items, persons, or persons with two answers."""
    if len(used.items) < FEWEST_ITEMS:
        said = (
            f"Only {counted(len(used.items), 'item')} with both right and wrong answers; at least "
            f"{FEWEST_ITEMS} are needed."
        )
        if dropped:
            said += f" {len(dropped)} were left out: all right, all wrong or never answered."
        return TooLittleEvidence("items", said, used.n)
    if used.n < FEWEST_PERSONS:
        said = (
            f"Only {counted(used.n, 'person', 'people')} answered; "
            f"at least {FEWEST_PERSONS} are needed."
        )
        return TooLittleEvidence("persons", said, used.n)
    if float(used.given.sum(axis=1).max()) < FEWEST_ITEMS:
        said = "Nobody answered more than one item, so items cannot be compared."
        return TooLittleEvidence("answers", said, used.n)
    return None


def _told(
    used: Answers,
    names: tuple[Hashable, ...],
    at: Floats,
    value: float,
    information: Floats,
    dropped: dict[Hashable, TooLittleEvidence],
    confidence: float,
    member: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> RaschFit:
    size, groups = len(used.items), len(names)
    covariance: Floats = np.linalg.inv(information).astype(np.float64)
    error = np.sqrt(np.diagonal(covariance))
    wide = NormalDist().inv_cdf(0.5 + confidence / 2)
    spread = float(abs(at[size]))
    # b = -d / s: its slope is -1/s for d, and d / s^2 for s.
    turn = np.hstack([-np.eye(size) / at[size], (at[:size] / at[size] ** 2)[:, None]])
    inner = covariance[: size + 1, : size + 1]
    populations: dict[Hashable, tuple[Estimate, Estimate]] = {}
    for one, name in enumerate(names):
        n = round(float(used.counts[member == one].sum()))
        sd, half = float(abs(at[size + one])), wide * float(error[size + one])
        mean = Estimate(0.0, None, None, n, confidence)
        if one:
            place = size + groups + one - 1
            middle, side = float(at[place]), wide * float(error[place])
            mean = Estimate(middle, middle - side, middle + side, n, confidence)
        populations[name] = (mean, Estimate(sd, max(0.0, sd - half), sd + half, n, confidence))
    return RaschFit(
        items=used.items,
        difficulty=-at[:size],
        standard_error=error[:size],
        covariance=covariance[:size, :size],
        spread=spread,
        spread_error=float(error[size]),
        populations=populations,
        standardised_difficulty=-at[:size] / spread,
        standardised_error=np.sqrt(np.einsum("ij,jk,ik->i", turn, inner, turn)),
        log_likelihood=value,
        parameters=len(at),
        n=used.n,
        n_answers=used.counts @ used.given,
        dropped=dropped,
        answers=used,
        confidence=confidence,
    )
