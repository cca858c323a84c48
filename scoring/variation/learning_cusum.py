"""From which answer on a learner has shown competence: the learning curve CUSUM.

It starts from the opposite of the ordinary CUSUM: the learner is taken not to be
competent (failure rate `p1`) until the answers speak enough for `p0`. Then an
ordinary CUSUM takes over.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from numpy.typing import ArrayLike

from scoring.evidence import TooLittleEvidence
from scoring.variation.bernoulli_cusum import (
    CusumDesign,
    answers,
    follow,
    promised,
    too_few,
)


@dataclass(frozen=True, slots=True)
class LearningCusum:
    """A learning curve CUSUM.

    Attributes
    ----------
    design : CusumDesign
        What was chosen and what follows from it: `alpha` is the probability that someone
        who truly fails `p1` is passed within the horizon (false discovery), ``1 - beta`` that
        someone who truly fails `p0` is (true discovery).
    labels : tuple of str
        Answers in order; missing ones are left out.
    path : tuple of float
        The sum after each answer. It goes on after competence was shown.
    at : str or None
        First answer at which competence was shown.
    verdict : str
        ``shown``, ``not shown``, or ``too little evidence`` (so few answers that not even a
        faultless row of them could have shown it).
    too_little : TooLittleEvidence or None
        Why, in the last case.
    more : int
        Faultless answers in a row that would still show it; 0 once it is shown.
    said : str
        The verdict with p0, p1, alpha and beta, for the reader.
    n, failures : int
        Answers and failures among them.
    """

    design: CusumDesign
    labels: tuple[str, ...]
    path: tuple[float, ...]
    at: str | None
    verdict: str
    too_little: TooLittleEvidence | None
    more: int
    said: str
    n: int
    failures: int


def learning_cusum(
    failures: ArrayLike, design: CusumDesign, *, labels: Sequence[Any] | None = None
) -> LearningCusum:
    """Follow a learner's answers until they show competence (LC-CUSUM).

    Parameters
    ----------
    failures : array_like
        1 or True for a failure, 0 or False for none, in order of time; NaN or None where
        missing, which is left out.
    design : CusumDesign
        With purpose ``competence``.
    labels : sequence, optional
        Names of the answers, each once; else 1, 2, ….

    Raises
    ------
    DataError
        A value is neither 0 nor 1, or names do not fit.
    ValueError
        The design does not look for competence.

    Notes
    -----
    Biau DJ, Williams SM, Schlup MM, Nizard RS, Porcher R (2008), Br J Surg 95:925-929, and
    Biau DJ, Porcher R (2010), Stat Med 29:1900-1909 (from memory): a success adds
    ``log((1 - p0) / (1 - p1))``, a failure ``log(p0 / p1)``, the sum never falls below 0.
    """
    if design.purpose != "competence":
        raise ValueError("design: wanted one with purpose 'competence'; see bernoulli_cusum")
    row, names = answers(failures, labels)
    path, reached = follow(row, design, restart=False)
    few = too_few(len(row), design)
    at = names[reached[0]] if reached else None
    more = 0
    if at is not None:
        verdict, said = "shown", f"Competence was shown at answer {at}."
    else:
        more = _faultless(path[-1] if path else 0.0, design)
        if few is not None:
            verdict, said = "too little evidence", few.said
        else:
            verdict = "not shown"
            said = f"Competence is not shown yet; {more} faultless answers in a row would show it."
    return LearningCusum(
        design, names, path, at, verdict, few if at is None else None, more,
        f"{said} {promised(design)}", len(row), int(row.sum()),
    )  # fmt: skip


def _faultless(now: float, design: CusumDesign) -> int:
    """Return how many faultless answers lead from here to the limit, added up as `follow` does."""
    more = 0
    while now < design.h - 1e-9 * max(1.0, design.h):
        now += design.weight_success
        more += 1
    return more
