"""How severe each rater is on yes-or-no items: ability less difficulty less severity, in logits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize  # type: ignore[import-untyped]
from scipy.special import expit, logsumexp  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, TooLittleEvidence, check_confidence
from scoring.measurement.g_cells import Codes, Floats
from scoring.measurement.rater_severity import few_raters, not_linked, told
from scoring.measurement.rating_rows import RatingRows, groups, part, persons_rated, rating_rows
from scoring.measurement.severity import FALSE_DISCOVERY, FEWEST_PERSONS, Fitted, SeverityStudy

REACH = 6.0
"""Standard deviations of ability covered on each side; beyond lie 2e-9 of a normal population."""

FINENESS = 0.8
"""Distance of the even nodes of the sum over ability, in standard deviations of the narrowest
curve of one person's ability. Such a sum errs by 2 exp(-2 pi^2 / 0.8^2), 1e-13 of the whole
(Poisson's summation formula)."""

WIDE = 2.0
"""Standard deviation of ability, in logits, up to which that holds. A working judgement: true
spreads of abilities are about 1."""

STEP = 1e-4
"""Step of central differences of the gradient: truncation and rounding both near 1e-8 of the
curvature. A working judgement."""

FLAT = 1e-6
"""Smallest over largest curvature below which a direction is not in the data. A working
judgement."""

WIDEST = 50.0
"""Largest standard error, in logits, that still says something: beyond it answers are apart
(all yes on one side, all no on the other). A working judgement."""


@dataclass(frozen=True, slots=True)
class _Model:
    rows: RatingRows
    nodes: Floats
    log_weights: Floats

    def split(self, theta: Floats) -> tuple[Floats, Floats, float]:
        items = self.rows.items
        rest = theta[items:-1]
        return theta[:items], np.append(rest, -rest.sum()), float(np.exp(theta[-1]))

    def evaluate(self, theta: Floats) -> tuple[float, Floats, Floats, Floats]:
        # Minus the marginal log-likelihood, its gradient, expected answers, and their
        # variance given the answers of the same person.
        rows = self.rows
        difficulty, severity, spread = self.split(theta)
        eta = (spread * self.nodes)[None, :] - (difficulty[rows.item] + severity[rows.rater])[
            :, None
        ]
        each = rows.scores[:, None] * eta - np.logaddexp(0.0, eta)
        summed = np.zeros((rows.persons, len(self.nodes)))
        np.add.at(summed, rows.person, each)
        summed += self.log_weights
        whole = logsumexp(summed, axis=1)
        after = np.exp(summed - whole[:, None])[rows.person]
        chance = expit(eta)
        expected = (after * chance).sum(axis=1)
        off = rows.scores - expected
        by_rater = np.bincount(rows.rater, off, len(rows.raters))
        slope = np.empty_like(theta)
        slope[: rows.items] = np.bincount(rows.item, off, rows.items)
        slope[rows.items : -1] = by_rater[:-1] - by_rater[-1]
        moved = (after * (rows.scores[:, None] - chance) * self.nodes).sum(axis=1)
        slope[-1] = -spread * float(moved.sum())
        within = (after * chance * (1 - chance)).sum(axis=1)
        return -float(whole.sum()), slope, expected, within

    def curvature(self, theta: Floats) -> Floats:
        found = np.empty((len(theta), len(theta)))
        for k in range(len(theta)):
            step = np.zeros_like(theta)
            step[k] = STEP
            up, down = self.evaluate(theta + step)[1], self.evaluate(theta - step)[1]
            found[k] = (up - down) / (2 * STEP)
        return (found + found.T) / 2


def rater_severity_logit(
    scores: ArrayLike,
    raters: Sequence[Any],
    persons: Sequence[Any],
    items: Sequence[Any] | None = None,
    *,
    confidence: float = CONFIDENCE,
    false_discovery: float = FALSE_DISCOVERY,
) -> SeverityStudy | TooLittleEvidence:
    """Return each rater's severity on yes-or-no items, in logits.

    Parameters
    ----------
    scores : array-like, shape (rows,)
        1 for done, 0 for not done; NaN or None where not seen.
    raters, persons : sequence, length rows
    items : sequence, length rows, optional
        Checklist items; otherwise one item.
    confidence : float
    false_discovery : float
        Held over all flags of a kind.

    Returns
    -------
    SeverityStudy or TooLittleEvidence
        Too little as for `rater_severity`. A rater who gave only yes or only no is left out
        and says so under the rater's name; an item with only one answer is left out, as it
        tells raters apart no further.

    Raises
    ------
    DataError
        See `rating_rows`.

    Notes
    -----
    Many-facet Rasch model (Linacre 1989, from memory), ``logit P = ability - difficulty -
    severity``, by marginal maximum likelihood with normal abilities: joint likelihood, which
    estimates each ability, is biased outwards. Raters whom no person links are compared as
    if persons came to them by chance, and `linked` is then False. Intervals are Wald's
    from the observed curvature. Ratings of one person on one item by several raters are taken as
    independent given ability: where a person's doing of an item is common to them, the
    intervals are too short. Coverage in simulation: 94 % with 24 persons, 95 % with 60, each
    rated on four items by two of four or five raters.
    """
    check_confidence(confidence)
    every = rating_rows(scores, raters, persons, items, binary=True)
    if not len(every.scores):
        return few_raters(0)
    rows, said = _varied(every)
    if isinstance(rows, TooLittleEvidence):
        return rows
    enough = np.flatnonzero(persons_rated(rows) >= FEWEST_PERSONS)
    if len(enough) < 2:
        return few_raters(len(enough))
    apart = groups(rows)
    most = int(np.bincount(rows.person).max())
    narrowest = 1.0 / np.sqrt(1.0 + most * WIDE**2 / 4.0)
    nodes = np.linspace(-REACH, REACH, int(np.ceil(2.0 * REACH / (FINENESS * narrowest))) | 1)
    log_weights = -0.5 * nodes**2
    model = _Model(rows, nodes, log_weights - logsumexp(log_weights))
    start = np.zeros(rows.items + len(rows.raters))
    share = np.bincount(rows.item, rows.scores) / np.bincount(rows.item)
    start[: rows.items] = -np.log(share / (1 - share))
    best = optimize.minimize(
        lambda theta: model.evaluate(theta)[:2],
        start,
        jac=True,
        method="L-BFGS-B",
        bounds=[(-WIDEST, WIDEST)] * (len(start) - 1) + [(-WIDEST / 10, WIDEST / 10)],
        options={"ftol": 1e-13, "gtol": 1e-7, "maxiter": 500},
    )
    theta = best.x
    curvature = model.curvature(theta)
    # Without any spread of ability the curvature by its logarithm is flat; it is then known.
    free = len(theta) if curvature[-1, -1] > FLAT * curvature.max() else len(theta) - 1
    values, vectors = np.linalg.eigh(curvature[:free, :free])
    if values[0] < FLAT * values[-1]:
        return not_linked(apart)
    covariance = (vectors / values) @ vectors.T
    within = covariance[rows.items : len(theta) - 1, rows.items : len(theta) - 1]
    full = np.vstack([np.eye(len(within)), -np.ones(len(within))])
    _, severity, _ = model.split(theta)
    wide = full @ within @ full.T
    if np.sqrt(np.diag(wide)).max() > WIDEST:
        return not_linked(apart)
    _, _, expected, variance = model.evaluate(theta)
    count = len(rows.raters)
    fourth = variance * (1 - 4 * variance)
    fitted = Fitted(
        severity[enough],
        wide[np.ix_(enough, enough)],
        _sums(rows.rater, (rows.scores - expected) ** 2, count)[enough],
        _sums(rows.rater, variance, count)[enough],
        np.maximum(_sums(rows.rater, fourth, count), FLAT)[enough],
        float("inf"),
    )
    found = told(rows, rows, fitted, enough, confidence, false_discovery)
    held = {**found.raters, **said}
    return replace(
        found,
        raters={label: held[label] for label in every.raters},
        said=(*found.said, *(value.said for value in said.values())),
        ratings=len(every.scores),
        persons=every.persons,
        items=every.items,
    )


def _varied(
    rows: RatingRows,
) -> tuple[RatingRows | TooLittleEvidence, dict[str | int, TooLittleEvidence]]:
    # Leave out raters and items with one answer only, until none is left.
    said: dict[str | int, TooLittleEvidence] = {}
    keep = np.ones(len(rows.scores), dtype=bool)
    while True:
        drop = np.zeros(len(rows.scores), dtype=bool)
        for code in (rows.rater, rows.item):
            ones = np.bincount(code[keep], rows.scores[keep], code.max() + 1)
            count = np.bincount(code[keep], minlength=code.max() + 1)
            drop |= ((ones == 0) | (ones == count))[code]
        ones = np.bincount(rows.rater[keep], rows.scores[keep], len(rows.raters))
        count = np.bincount(rows.rater[keep], minlength=len(rows.raters))
        for k in np.flatnonzero(((ones == 0) | (ones == count)) & (count > 0)):
            answer = "yes" if ones[k] else "no"
            label = rows.raters[k]
            text = f"Rater {label} gave only {answer}, so the severity has no size."
            said[label] = TooLittleEvidence("variance", text, int(count[k]))
        if not (drop & keep).any():
            break
        keep &= ~drop
        if not keep.any():
            text = "All ratings are the same, or each rater's or item's are."
            return TooLittleEvidence("variance", text, len(rows.scores)), said
    for k in np.flatnonzero(np.bincount(rows.rater[keep], minlength=len(rows.raters)) == 0):
        label = rows.raters[k]
        text = f"Rater {label} rated only items on which everybody had the same answer."
        said.setdefault(label, TooLittleEvidence("variance", text, 0))
    return part(rows, keep), said


def _sums(code: Codes, values: Floats, count: int) -> Floats:
    return np.asarray(np.bincount(code, values, count), dtype=float)
