"""How severe each rater is on scores, whoever and whatever that rater happened to rate.

Own code, because no kept library ties raters together through the persons they share and
says when they are not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.g_cells import Codes, Floats
from scoring.measurement.rating_rows import (
    RatingRows,
    groups,
    largest_group,
    persons_rated,
    rating_rows,
)
from scoring.measurement.severity import (
    FALSE_DISCOVERY,
    FEWEST_PERSONS,
    Fitted,
    RaterSeverity,
    SeverityStudy,
    study,
)

Persons = Literal["fixed", "random"]

ALIKE = 1e-9
"""Eigenvalue over the largest one below which a direction is not in the data. A working
judgement: far above rounding."""

MOST = 1000
"""Ratings of a rater from which the spread of that rater's squared residuals is computed; with
more it is taken in proportion, as the matrix grows with the square. A working judgement."""

SEARCH = 12.0
"""Logarithm of the person to error variance ratio is sought from minus to plus this: from
nothing to all. A working judgement."""


def rater_severity(
    scores: ArrayLike,
    raters: Sequence[Any],
    persons: Sequence[Any],
    items: Sequence[Any] | None = None,
    *,
    effects_of_persons: Persons = "fixed",
    confidence: float = CONFIDENCE,
    false_discovery: float = FALSE_DISCOVERY,
) -> SeverityStudy | TooLittleEvidence:
    """Return each rater's severity, adjusted for whom and what that rater rated.

    Parameters
    ----------
    scores : array-like, shape (rows,)
        Any numeric scale; NaN or None where missing.
    raters, persons : sequence, length rows
        Who rated whom. Not everybody needs to rate everybody.
    items : sequence, length rows, optional
        What was rated: a station, a checklist item. Otherwise each rater rates a person once.
    effects_of_persons : {"fixed", "random"}
        ``fixed``: exact least squares; raters are compared only through persons whom more
        than one rated. ``random``: persons are a sample from one population and came to
        raters by chance; restricted maximum likelihood, then generalised least squares.
    confidence : float
    false_discovery : float
        Held over all flags of a kind.

    Returns
    -------
    SeverityStudy or TooLittleEvidence
        Too little where raters are not tied together (``links``; where most are, only the
        others get this answer, each under the rater's name), there are fewer than two
        raters who rated at least 3 persons, or nothing is left to judge errors by. A
        single rater with fewer persons has this answer under the rater's name; the
        average rater, whose severity is 0, is then that of the others.

    Raises
    ------
    DataError
        See `rating_rows`.

    Notes
    -----
    ``score = person + item - severity + error``, errors of one variance. Intervals are
    Student's; of severities in ``random`` with the estimated ratio of variances as if known.
    Where a rater's errors on the items of one person go together (halo), intervals are too
    short: then give each person's mean over the items as one score, without `items`.
    """
    check_confidence(confidence)
    every = rating_rows(scores, raters, persons, items, binary=False)
    rows = largest_group(every) if effects_of_persons == "fixed" else every
    enough = np.flatnonzero(persons_rated(rows) >= FEWEST_PERSONS)
    if len(enough) < 2:
        return few_raters(len(enough))
    apart = groups(rows)
    design, small, ratio = _equations(rows, effects_of_persons == "random")
    values, vectors = np.linalg.eigh(small)
    kept = values > ALIKE * values.max()
    absent = vectors[rows.items :, ~kept]
    # Between raters with enough evidence, no missing direction may change a difference.
    loose = absent[enough] - absent[enough].mean(axis=0)
    if np.abs(loose).max(initial=0.0) > np.sqrt(ALIKE):
        return not_linked(apart)
    turned = (vectors[:, kept] / values[kept]) @ vectors[:, kept].T
    fitted_by = turned @ (design.T @ (rows.scores - _shared(rows, rows.scores, ratio)))
    rank = int(kept.sum())
    if np.isfinite(ratio):
        degrees = len(rows.scores) - rank
    else:
        degrees = len(rows.scores) - rank - rows.persons
    if degrees < 1:
        said = "Too few ratings to judge the raters' errors by; more persons must be rated twice."
        return TooLittleEvidence("ratings", said, len(rows.scores))
    residual, leverage = _residuals(rows, design, turned, fitted_by, ratio)
    straight = rows.scores - design @ fitted_by
    error = float(straight @ (straight - _shared(rows, straight, ratio))) / degrees
    if error <= np.finfo(float).eps * 64 * float(rows.scores @ rows.scores):
        said = "The ratings leave no error at all, so nothing can be told from chance."
        return TooLittleEvidence("variance", said, len(rows.scores))
    shape = len(rows.raters)
    left = 1.0 - leverage
    freedom = np.bincount(rows.rater, left, shape)
    squares = np.asarray(np.bincount(rows.rater, residual**2, shape), dtype=float)
    # A rater whose scores the model must meet exactly says nothing of consistency.
    expected = error * np.maximum(freedom, ALIKE)
    at = rows.items + enough
    fitted = Fitted(
        -fitted_by[at],
        error * turned[np.ix_(at, at)],
        squares[enough],
        expected[enough],
        error**2 * _spread(rows, design, turned, ratio)[enough],
        float(degrees),
    )
    return told(every, rows, fitted, enough, confidence, false_discovery)


def few_raters(count: int) -> TooLittleEvidence:
    """Say that there are too few raters with enough persons."""
    said = (
        f"Only {counted(count, 'rater')} rated {FEWEST_PERSONS} persons or more; "
        "at least 2 are needed."
    )
    return TooLittleEvidence("raters", said, count)


def not_linked(apart: list[list[str | int]]) -> TooLittleEvidence:
    """Say which raters have no one and nothing in common."""
    if len(apart) > 1:
        named = "; ".join(", ".join(map(str, group)) for group in apart)
        said = f"These raters rated nobody in common, so they cannot be compared: {named}."
    else:
        said = "Raters and what they rated cannot be told apart; let raters share items."
    return TooLittleEvidence("links", said, sum(len(group) for group in apart))


def told(
    every: RatingRows,
    rows: RatingRows,
    fitted: Fitted,
    enough: Codes,
    confidence: float,
    false_discovery: float,
) -> SeverityStudy:
    """Return the study of the raters in `enough` of `rows`, too little evidence for all others."""
    rated, ratings = persons_rated(rows), np.bincount(rows.rater, minlength=len(rows.raters))
    labels = [rows.raters[k] for k in enough]
    found, spread, chance = study(
        fitted, labels, ratings[enough], rated[enough], confidence, false_discovery
    )
    held: dict[str | int, RaterSeverity | TooLittleEvidence] = {}
    within = {label: k for k, label in enumerate(rows.raters)}
    for label in every.raters:
        k = within.get(label, -1)
        if k < 0:
            said = f"Rater {label} rated nobody in common with most other raters."
            held[label] = TooLittleEvidence("links", said, 0)
            continue
        who = "person" if rated[k] == 1 else "persons"
        said = f"Rater {label} rated {rated[k]} {who}; at least {FEWEST_PERSONS} are needed."
        held[label] = found.get(label, TooLittleEvidence("persons", said, int(rated[k])))
    linked = len(groups(rows)) == 1
    notes = [value.said for value in held.values() if isinstance(value, TooLittleEvidence)]
    if not linked:
        notes.append(
            "Not all raters share persons; they are compared as if persons came to them by chance."
        )
    return SeverityStudy(
        held, spread, chance, linked, tuple(notes), len(every.scores), every.persons, every.items
    )


def _shared(rows: RatingRows, values: Floats, ratio: float) -> Floats:
    # What a person's ratings have in common, taken to that person's rows; ratio is that of the
    # person to the error variance, infinite where persons are fixed.
    counts = np.bincount(rows.person, minlength=rows.persons)
    shrunk = 1.0 / counts if not np.isfinite(ratio) else ratio / (1.0 + ratio * counts)
    return np.asarray(shrunk * np.bincount(rows.person, values, rows.persons))[rows.person]


def _equations(rows: RatingRows, random: bool) -> tuple[Floats, Floats, float]:
    design = np.zeros((len(rows.scores), rows.items + len(rows.raters)))
    every = np.arange(len(rows.scores))
    design[every, rows.item] = 1.0
    design[every, rows.items + rows.rater] = 1.0
    counts = np.bincount(rows.person, minlength=rows.persons)
    sums = np.zeros((rows.persons, design.shape[1]))
    np.add.at(sums, rows.person, design)
    totals = np.bincount(rows.person, rows.scores, rows.persons)
    whole, crossed = design.T @ design, design.T @ rows.scores
    square = float(rows.scores @ rows.scores)

    def at(ratio: float) -> tuple[Floats, Floats, float]:
        shrunk = ratio / (1.0 + ratio * counts)
        return (
            whole - (sums.T * shrunk) @ sums,
            crossed - sums.T @ (shrunk * totals),
            square - float((shrunk * totals**2).sum()),
        )

    def criterion(log_ratio: float) -> float:
        small, right, total = at(float(np.exp(log_ratio)))
        values, vectors = np.linalg.eigh(small)
        kept = values > ALIKE * values.max()
        turned = vectors[:, kept].T @ right
        left = max(total - float((turned**2 / values[kept]).sum()), np.finfo(float).tiny)
        degrees = len(rows.scores) - int(kept.sum())
        spread = np.log1p(np.exp(log_ratio) * counts).sum()
        return degrees * float(np.log(left)) + float(spread + np.log(values[kept]).sum())

    if not random:
        small = whole - (sums.T / counts) @ sums
        return design, small, float("inf")
    best = optimize.minimize_scalar(criterion, bounds=(-SEARCH, SEARCH), method="bounded")
    ratio = float(np.exp(best.x))
    return design, at(ratio)[0], ratio


def _residuals(
    rows: RatingRows, design: Floats, turned: Floats, fitted_by: Floats, ratio: float
) -> tuple[Floats, Floats]:
    straight = rows.scores - design @ fitted_by
    residual = straight - _shared(rows, straight, ratio)
    counts = np.bincount(rows.person, minlength=rows.persons)[rows.person]
    own = 1.0 / counts if not np.isfinite(ratio) else ratio / (1.0 + ratio * counts)
    moved = np.column_stack([column - _shared(rows, column, ratio) for column in design.T])
    return residual, np.minimum(own + np.einsum("ij,ij->i", moved @ turned, moved), 1.0)


def _spread(rows: RatingRows, design: Floats, turned: Floats, ratio: float) -> Floats:
    # Variance of each rater's sum of squared residuals in units of the squared error variance:
    # twice the sum of squares of that rater's block of the residual-making matrix.
    counts = np.bincount(rows.person, minlength=rows.persons)
    own = 1.0 / counts if not np.isfinite(ratio) else ratio / (1.0 + ratio * counts)
    moved = np.column_stack([column - _shared(rows, column, ratio) for column in design.T])
    found = np.empty(len(rows.raters))
    for k in range(len(rows.raters)):
        at = np.flatnonzero(rows.rater == k)[:MOST]
        person = rows.person[at]
        made = np.where(person[:, None] == person, own[person], 0.0)
        made = np.eye(len(at)) - made - moved[at] @ turned @ moved[at].T
        whole = np.count_nonzero(rows.rater == k) / len(at)
        found[k] = max(2 * float((made**2).sum()) * whole, ALIKE)
    return found
