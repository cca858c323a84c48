"""New starters beside those long in post: who has shown the department's level, and from when on.

Each new starter is taken not to be there yet until the answers speak enough for it
(learning curve CUSUM). What was chosen and what it promises stands beside the verdicts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scoring.cohort.answers_in_time import MONTHS_A_YEAR, AnswersInTime, Ints
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.variation.bernoulli_cusum import ROUNDING, CusumDesign, cusum_design, too_few
from scoring.variation.intervals import wilson

NEW_MONTHS = float(MONTHS_A_YEAR)
"""Who was in post for less than this at the first sitting is a new starter. A working judgement, no
source."""

ODDS_BEHIND = 2.0
"""The odds of a wrong decision of somebody who is clearly not there yet, as a multiple of the
department's: p1 follows from p0 by it. A working judgement, no source."""

ALPHA = 0.05
"""Chance that somebody who truly fails p1 is called there within `HORIZON`. The usual convention;
common practice, no source."""

HORIZON = 300
"""Decisions that alpha and beta are for: a year of monthly sittings of five scenarios with five
decisions each. A working judgement, no source."""

LEAST_ESTABLISHED = 3
"""People long in post whose mean may be called the department's level. A working judgement."""


@dataclass(frozen=True, slots=True)
class Starter:
    """One new starter.

    Attributes
    ----------
    operator : str
    from_month, to_month : float
        Months in post at the first and the last sitting.
    rate : Estimate
        Rate of wrong decisions over the whole time, Wilson's interval; `n` decisions.
    verdict : str
        ``shown``, ``not shown`` or ``too little evidence``.
    after : int or None
        Decisions until it was shown.
    month : int or None
        Month number (:class:`scoring.cohort.answers_in_time.AnswersInTime`) when it was shown.
    in_post : float or None
        Months in post then.
    more : int
        Faultless decisions in a row that would still show it; 0 once it is shown.
    """

    operator: str
    from_month: float
    to_month: float
    rate: Estimate
    verdict: str
    after: int | None
    month: int | None
    in_post: float | None
    more: int


@dataclass(frozen=True, slots=True)
class NewStarters:
    """All new starters against those long in post.

    Attributes
    ----------
    design : CusumDesign
        p0, p1, alpha, beta and run lengths; p0 is the rate of those long in post.
    established : int
        Operators long in post.
    starters : tuple of Starter
        Sorted by code.
    unknown : int
        Operators whose time in post is not known; they are in neither group.
    """

    design: CusumDesign
    established: int
    starters: tuple[Starter, ...]
    unknown: int


def new_starters(answers: AnswersInTime) -> NewStarters | TooLittleEvidence:
    """Follow each new starter until the department's level is shown.

    Returns
    -------
    NewStarters or TooLittleEvidence
        ``in post``: nobody's time in post is known. ``starters``: nobody is new.
        ``established``: too few are long in post. ``difference``: those are never wrong, or
        always.

    Notes
    -----
    p0 is the rate of those long in post at the scenarios of the new starters, in the same mix,
    in whole per cent; p1 has `ODDS_BEHIND` times its odds. Within one scenario the order of
    decisions is not kept in the tables: wrong ones are taken to come last, and only the end of
    a scenario counts. Of all orders that gives the lowest sum there, so alpha is kept. It is the
    sum of :func:`scoring.variation.learning_cusum.learning_cusum` for that order, in one pass.
    """
    if answers.empty:
        return TooLittleEvidence("answers", "No scenario was answered whole.", 0)
    size = len(answers.operators)
    first = np.full(size, np.nan)
    first[answers.operator[::-1]] = answers.in_post[::-1]
    seen = np.bincount(answers.operator, minlength=size) > 0
    unknown = seen & np.isnan(first)
    new = seen & (first < NEW_MONTHS)
    old = seen & (first >= NEW_MONTHS)
    if unknown.sum() == seen.sum():
        said = "Nobody's time in post is known. Write it into the file of operators, column since."
        return TooLittleEvidence("in post", said, 0)
    if not new.any():
        said = "Nobody was in post for less than a year at the first sitting."
        return TooLittleEvidence("starters", said, 0)
    if old.sum() < LEAST_ESTABLISHED:
        said = (
            f"Only {int(old.sum())} of those whose time in post is known are a year in post or "
            f"longer; at least {LEAST_ESTABLISHED} are needed for the department's level."
        )
        return TooLittleEvidence("established", said, int(old.sum()))
    level = level_of(answers, new[answers.operator], old[answers.operator])
    p0 = round(level, 2) if level is not None else 0.0
    if not 0 < p0 < 1:
        said = "Those long in post are never wrong, or always, at what the new starters sat."
        return TooLittleEvidence("difference", said, int(old.sum()))
    odds = ODDS_BEHIND * p0 / (1 - p0)
    design = cusum_design(
        p0, round(odds / (1 + odds), 2), alpha=ALPHA, horizon=HORIZON, purpose="competence"
    )
    order = np.argsort(answers.operator, kind="stable")
    edges = np.searchsorted(answers.operator[order], np.arange(size + 1))
    starters = tuple(
        _starter(answers, order[edges[code] : edges[code + 1]], design)
        for code in np.flatnonzero(new)
    )
    return NewStarters(design, int(old.sum()), starters, int(unknown.sum()))


def level_of(answers: AnswersInTime, new: np.ndarray, old: np.ndarray) -> float | None:
    """Return the rate of wrong decisions of some answers at the scenarios of others.

    Parameters
    ----------
    answers : AnswersInTime
    new, old : ndarray of bool, shape (rows,)
        Whose mix of scenarios, and whose rate.

    Returns
    -------
    float or None
        None where the two share no scenario.
    """
    size = len(answers.scenarios)
    wrong, n, mix = (
        np.bincount(answers.scenario[rows], weights[rows], minlength=size)
        for rows, weights in (
            (old, answers.wrong),
            (old, answers.decisions),
            (new, answers.decisions),
        )
    )
    both = (n > 0) & (mix > 0)
    if not both.any():
        return None
    return float(np.average(wrong[both] / n[both], weights=mix[both]))


def _starter(answers: AnswersInTime, rows: Ints, design: CusumDesign) -> Starter:
    n, wrong = answers.decisions[rows], answers.wrong[rows]
    # Right ones first, then the wrong ones, scenario by scenario: at the end of each the sum is
    # that of all answers so far, less the lowest it had (0 at least), since it never falls below 0.
    gained = (n - wrong) * design.weight_success
    ends = np.cumsum(n)
    after_each = np.cumsum(gained + wrong * design.weight_failure)
    at_end = after_each - np.minimum.accumulate(np.minimum(after_each, 0.0))
    reached = np.flatnonzero(at_end >= design.h - ROUNDING * max(1.0, design.h))
    made = wilson(int(wrong.sum()), int(n.sum()))
    if len(reached):
        at = int(reached[0])
        verdict, after, month = "shown", int(ends[at]), int(answers.month[rows[at]])
        in_post, more = float(answers.in_post[rows[at]]), 0
    else:
        few = too_few(int(ends[-1]), design) is not None
        verdict = "too little evidence" if few else "not shown"
        after, month, in_post = None, None, None
        more = max(1, int(np.ceil((design.h - at_end[-1]) / design.weight_success - ROUNDING)))
    return Starter(
        operator=answers.operators[int(answers.operator[rows[0]])],
        from_month=float(answers.in_post[rows[0]]),
        to_month=float(answers.in_post[rows[-1]]),
        rate=Estimate(made.estimate, made.low, made.high, int(n.sum())),
        verdict=verdict,
        after=after,
        month=month,
        in_post=in_post,
        more=more,
    )
