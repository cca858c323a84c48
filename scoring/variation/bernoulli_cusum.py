"""Whether a person's or a step's failures have become too many, answer by answer.

The Bernoulli CUSUM adds up how much each answer speaks for the unacceptable rate
`p1` rather than the acceptable `p0`. What was chosen (p0, p1, the limit) and what
follows from it (how often it cries wolf, how soon it sees) stand in every result,
so that they can be printed beside the verdict.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.variation.bernoulli_walk import (
    Walk,
    fewest_answers,
    run_length,
    signal_chances,
    walk,
)
from scoring.variation.event_counts import Floats, label_names, numbers

HORIZON = 100
"""Answers over which the probabilities of a false verdict are told, unless asked otherwise: about
what one person gives in a year of practice. A working judgement, no source."""

ROUNDING = 1e-9
"""A sum this close to the limit has reached it: rounding of repeated additions."""

HIGHEST = 60.0
"""Largest limit looked for: a likelihood ratio of 1e26, beyond any use. Assumption."""

Purpose = Literal["worse", "competence"]


@dataclass(frozen=True, slots=True)
class CusumDesign:
    """What was chosen, and what follows from it.

    Attributes
    ----------
    purpose : {'worse', 'competence'}
        ``worse``: signals when failures speak for `p1`. ``competence``: signals when answers
        speak for `p0` (LC-CUSUM).
    p0, p1 : float
        Acceptable and unacceptable failure rate.
    h : float
        Limit, in log-likelihood ratio (natural logarithm).
    weight_failure, weight_success : float
        What one answer adds.
    arl0 : float
        Mean number of answers until a false signal: at `p0` for ``worse``, at `p1` for
        ``competence``.
    arl1 : float
        Mean number until a true signal: at `p1` for ``worse``, at `p0` for ``competence``.
    alpha : float
        Probability of a false signal within `horizon` answers.
    beta : float
        Probability of no true signal within `horizon` answers.
    horizon : int
        Answers that `alpha` and `beta` are for.
    fewest : int
        Answers that the quickest possible signal takes.
    """

    purpose: Purpose
    p0: float
    p1: float
    h: float
    weight_failure: float
    weight_success: float
    arl0: float
    arl1: float
    alpha: float
    beta: float
    horizon: int
    fewest: int


def cusum_design(
    p0: float,
    p1: float,
    h: float | None = None,
    *,
    arl0: float | None = None,
    alpha: float | None = None,
    beta: float | None = None,
    horizon: int = HORIZON,
    purpose: Purpose = "worse",
) -> CusumDesign:
    """Choose the limit and say what follows from it.

    Exactly one way of choosing must be given.

    Parameters
    ----------
    p0, p1 : float
        Acceptable and unacceptable failure rate, ``0 < p0 < p1 < 1``.
    h : float, optional
        The limit itself.
    arl0 : float, optional
        Wanted mean number of answers until a false signal, at least: the lowest limit with it.
    alpha : float, optional
        Alone: wanted probability of a false signal within `horizon`, at most: the lowest limit
        with it.
    beta : float, optional
        With `alpha`: Wald's limit of a sequential test, ``log((1 - beta) / alpha)``. The design
        then holds the true `alpha` and `beta` of the CUSUM, which are not these two.
    horizon : int
        Answers that `alpha` and `beta` are for, 1 or more.
    purpose : {'worse', 'competence'}
        See :class:`CusumDesign`.

    Raises
    ------
    ValueError
        A value is outside its range, none or several ways were given, or no limit does it.

    Notes
    -----
    Failure adds ``log(p1 / p0)``, success ``log((1 - p1) / (1 - p0))``, the sum never falls
    below 0, and ``sum >= h`` is a signal; for ``competence`` both change sign. Reynolds MR,
    Stoumbos ZG (1999), J Qual Technol 31:87-108; Biau DJ, Porcher R (2010), Stat Med
    29:1900-1909 (both from memory). Run lengths are those of the exact Markov chain
    (:mod:`scoring.variation.bernoulli_walk`), from a sum of 0.
    """
    _check(p0, p1, horizon, purpose)
    failure = math.log(p1 / p0)
    success = math.log1p(-p1) - math.log1p(-p0)
    if purpose == "competence":
        failure, success = -failure, -success
    false_at, true_at = (p0, p1) if purpose == "worse" else (p1, p0)
    ways = [h is not None, arl0 is not None, alpha is not None]
    if sum(ways) != 1 or (beta is not None and alpha is None):
        raise ValueError("wanted one of h, arl0, alpha, or alpha with beta")
    if alpha is not None and not 0 < alpha < 1:
        raise ValueError(f"alpha {alpha!r}: wanted a number between 0 and 1")
    if arl0 is not None and not 1 <= arl0 < math.inf:
        raise ValueError(f"arl0 {arl0!r}: wanted a finite number from 1")
    if beta is not None and alpha is not None:
        if not 0 < beta < 1 - alpha:
            raise ValueError(f"beta {beta!r}: wanted a number between 0 and 1 - alpha")
        h = math.log((1 - beta) / alpha)
    elif arl0 is not None:
        wanted = arl0
        h = _lowest(failure, success, lambda steps: run_length(steps, false_at) >= wanted)
    elif alpha is not None:
        most = alpha
        h = _lowest(
            failure,
            success,
            lambda steps: signal_chances(steps, false_at, horizon)[-1] <= most,
        )
    if h is None or not 0 < h < math.inf:
        raise ValueError(f"h {h!r}: wanted a finite number above 0")
    steps = walk(failure, success, h)
    return CusumDesign(
        purpose=purpose,
        p0=p0,
        p1=p1,
        h=h,
        weight_failure=failure,
        weight_success=success,
        arl0=run_length(steps, false_at),
        arl1=run_length(steps, true_at),
        alpha=float(signal_chances(steps, false_at, horizon)[-1]),
        beta=1.0 - float(signal_chances(steps, true_at, horizon)[-1]),
        horizon=horizon,
        fewest=fewest_answers(steps),
    )


def _check(p0: float, p1: float, horizon: int, purpose: Purpose) -> None:
    if not 0 < p0 < p1 < 1:
        raise ValueError(f"p0 {p0!r}, p1 {p1!r}: wanted 0 < p0 < p1 < 1")
    if horizon < 1 or horizon != int(horizon):
        raise ValueError(f"horizon {horizon!r}: wanted a whole number from 1")
    if purpose not in ("worse", "competence"):
        raise ValueError(f"purpose {purpose!r}: wanted 'worse' or 'competence'")


def _lowest(failure: float, success: float, enough: Callable[[Walk], bool]) -> float:
    """Return the lowest limit that is enough, half a lattice point below the one it stands for."""
    high = 1.0
    while not enough(walk(failure, success, high)):
        high *= 1.5
        if high > HIGHEST:
            raise ValueError(f"no limit up to {HIGHEST:g} is enough")
    finest = walk(failure, success, high)

    def at(height: int) -> Walk:
        return Walk(finest.up, finest.down, height, finest.event_is_up, finest.unit)

    low, top = 0, finest.height
    while top - low > 1:
        middle = (low + top) // 2
        low, top = (low, middle) if enough(at(middle)) else (middle, top)
    h = (top - 0.5) * finest.unit
    # The lattice of a lower limit may be finer, and on it a hair may be missing.
    steps, more = walk(failure, success, h), 1
    while not enough(steps):
        h, more = h + more * steps.unit, 2 * more
        steps = walk(failure, success, h)
    return h


def average_run_length(design: CusumDesign, p: float) -> float:
    """Return the mean number of answers until a signal if failures truly come with `p`, 0 to 1."""
    return run_length(_steps(design), p)


def signal_probabilities(design: CusumDesign, p: float, n: int) -> Floats:
    """Return the probabilities of a signal within 1, …, `n` answers at the true failure rate `p`.

    Exact, by going through the chain answer by answer. The mean number of answers until a
    signal, cut off at `n`, is ``1 + sum(1 - chance)`` over all but the last.
    """
    return signal_chances(_steps(design), p, n)


def _steps(design: CusumDesign) -> Walk:
    return walk(design.weight_failure, design.weight_success, design.h)


@dataclass(frozen=True, slots=True)
class BernoulliCusum:
    """A CUSUM of answers.

    Attributes
    ----------
    design : CusumDesign
        What was chosen and what follows from it.
    labels : tuple of str
        Answers in order; missing ones are left out.
    path : tuple of float
        The sum after each answer. After a signal the next answer starts from 0 again.
    signals : tuple of str
        Answers at which the limit was reached.
    verdict : str
        ``worse``: at least one signal. ``no sign``: none. ``too little evidence``: too few
        answers for any signal.
    too_little : TooLittleEvidence or None
        Why, in the last case.
    said : str
        The verdict with p0, p1, alpha and beta, for the reader.
    n, failures : int
        Answers and failures among them.
    """

    design: CusumDesign
    labels: tuple[str, ...]
    path: tuple[float, ...]
    signals: tuple[str, ...]
    verdict: str
    too_little: TooLittleEvidence | None
    said: str
    n: int
    failures: int


def bernoulli_cusum(
    failures: ArrayLike, design: CusumDesign, *, labels: Sequence[Any] | None = None
) -> BernoulliCusum:
    """Follow answers until failures have become too many.

    Parameters
    ----------
    failures : array_like
        1 or True for a failure, 0 or False for none, in order of time; NaN or None where
        missing, which is left out.
    design : CusumDesign
        With purpose ``worse``.
    labels : sequence, optional
        Names of the answers, each once; else 1, 2, ….

    Raises
    ------
    DataError
        A value is neither 0 nor 1, or names do not fit.
    ValueError
        The design looks for competence.
    """
    if design.purpose != "worse":
        raise ValueError("design: wanted one with purpose 'worse'; see learning_cusum")
    row, names = answers(failures, labels)
    path, reached = follow(row, design, restart=True)
    signals = tuple(names[at] for at in reached)
    few = too_few(len(row), design)
    if signals:
        verdict = "worse"
        said = f"At answer {signals[0]} failures had become too many."
    elif few is not None:
        verdict, said = "too little evidence", few.said
    else:
        verdict, said = "no sign", "There is no sign that failures have become too many."
    return BernoulliCusum(
        design, names, path, signals, verdict, few if not signals else None,
        f"{said} {promised(design)}", len(row), int(row.sum()),
    )  # fmt: skip


def promised(design: CusumDesign) -> str:
    """Return in plain words what the chosen numbers promise."""
    good, bad = f"{100 * design.p0:.3g} %", f"{100 * design.p1:.3g} %"
    false, missed = (f"{100 * share:.2g} %" for share in (design.alpha, design.beta))
    if design.purpose == "worse":
        return (
            f"Set up to tell {bad} failures from {good}: within {design.horizon} answers someone "
            f"who fails {good} is flagged by chance in {false} of cases, and someone who fails "
            f"{bad} is missed in {missed}."
        )
    return (
        f"Set up to tell {good} failures from {bad}: within {design.horizon} answers someone who "
        f"fails {bad} passes by chance in {false} of cases, and someone who fails {good} is not "
        f"yet passed in {missed}."
    )


def answers(failures: ArrayLike, labels: Sequence[Any] | None) -> tuple[Floats, tuple[str, ...]]:
    """Return answers that are there, as 0 and 1, with their names."""
    row = numbers(failures, "failures")
    names = label_names(labels, len(row))
    for name, value in zip(names, row, strict=True):
        if not (np.isnan(value) or value in (0.0, 1.0)):
            raise DataError(f"answer {name}", float(value), "0, 1 or nothing")
    there = ~np.isnan(row)
    return row[there], tuple(name for name, used in zip(names, there, strict=True) if used)


def follow(
    row: Floats, design: CusumDesign, *, restart: bool
) -> tuple[tuple[float, ...], list[int]]:
    """Return the sum after each answer and where it reached the limit."""
    path, reached, now = [], [], 0.0
    for at, failed in enumerate(row):
        now = max(0.0, now + (design.weight_failure if failed else design.weight_success))
        path.append(now)
        if now >= design.h - ROUNDING * max(1.0, design.h):
            reached.append(at)
            now = 0.0 if restart else now
    return tuple(path), reached


def too_few(n: int, design: CusumDesign) -> TooLittleEvidence | None:
    """Return why no number of failures among `n` answers could be a signal; None if one could."""
    if n >= design.fewest:
        return None
    said = f"Only {counted(n, 'answer')}; at least {design.fewest} are needed."
    return TooLittleEvidence("answers", said, n)
