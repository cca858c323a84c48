"""How long a walk of right and wrong answers takes to reach its limit: exact, on a lattice.

A CUSUM of answers moves by one of two steps, up or down, never below 0, and ends
at its limit. Where the two steps have a common measure the walk lives on whole
numbers and its run length is the solution of a linear system.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from numbers import Integral

import numpy as np
from scipy.sparse import coo_matrix, identity  # type: ignore[import-untyped]
from scipy.sparse.linalg import splu  # type: ignore[import-untyped]

from scoring.variation.event_counts import Floats

MOST_STATES = 12_000
"""Lattice points below the limit, where the steps have no small common measure. Twice as many
change no average run length tried by more than 0.001 % (tested)."""

FINEST = 400
"""Largest number of lattice points in the smaller step: finer changes nothing that prints."""

KNIFE_EDGE = 0.25
"""How far below the limit, in lattice points, a sum still reaches it: it takes up the difference
between the steps and their lattice, so that a sum that equals the limit counts as reaching it."""


@dataclass(frozen=True, slots=True)
class Walk:
    """A walk on whole numbers.

    Attributes
    ----------
    up, down : int
        Steps, in lattice points, above 0.
    height : int
        Least point that is a signal.
    event_is_up : bool
        Whether an event (a failure) makes it go up.
    unit : float
        What a lattice point is worth.
    """

    up: int
    down: int
    height: int
    event_is_up: bool
    unit: float


def walk(weight_event: float, weight_none: float, h: float) -> Walk:
    """Return the lattice walk with these steps and this limit.

    Parameters
    ----------
    weight_event, weight_none : float
        Steps at an event and at none: one above 0, the other below.
    h : float
        Limit, above 0; a sum that equals it is a signal.

    Raises
    ------
    ValueError
        The steps do not have opposite signs, or `h` is not above 0.

    Notes
    -----
    The ratio of the steps is replaced by the nearest fraction whose lattice has at most
    `MOST_STATES` points below the limit; steps with a common measure (Reynolds MR, Stoumbos ZG
    (1999), J Qual Technol 31:87-108, choose `p1` so; from memory) are then exact.
    """
    if not (weight_event * weight_none < 0 and 0 < h < math.inf):
        raise ValueError(f"steps {weight_event!r}, {weight_none!r} and limit {h!r} make no walk")
    small, large = sorted((abs(weight_event), abs(weight_none)))
    finest = max(1, min(FINEST, int(MOST_STATES * small / h)))
    ratio = Fraction(large / small).limit_denominator(finest)
    unit = small / ratio.denominator
    event = ratio.numerator if abs(weight_event) == large else ratio.denominator
    none = ratio.denominator if abs(weight_event) == large else ratio.numerator
    up_by_event = weight_event > 0
    return Walk(
        up=event if up_by_event else none,
        down=none if up_by_event else event,
        height=max(1, math.ceil(h / unit - KNIFE_EDGE)),
        event_is_up=up_by_event,
        unit=unit,
    )


def run_length(steps: Walk, p: float) -> float:
    """Return the mean number of answers until the signal, from 0, with event probability `p`.

    Infinite where the walk never goes up, or so rarely that double precision holds no chance
    of a signal.
    """
    rise = _rise(steps, p)
    size = steps.height
    if steps.up >= size:
        answers, reached = 0.0, 1.0
    else:
        # One visit away from 0 is solved, not the whole run: the system then stays well behaved
        # however rare a signal is. State 0 is left out, so point i stands in row i - 1.
        here = np.arange(1, size)
        higher, lower = here + steps.up, here - steps.down
        stays, holds = higher < size, lower > 0
        rows = np.concatenate([here[holds], here[stays]]) - 1
        columns = np.concatenate([lower[holds], higher[stays]]) - 1
        chances = np.concatenate(
            [np.full(int(holds.sum()), 1.0 - rise), np.full(int(stays.sum()), rise)]
        )
        chain = coo_matrix((chances, (rows, columns)), shape=(size - 1, size - 1))
        side = np.column_stack([np.ones(size - 1), np.where(stays, 0.0, rise)])
        solved = splu((identity(size - 1) - chain).tocsc()).solve(side)
        answers, reached = (float(x) for x in solved[steps.up - 1])
    ends = rise * reached
    return (1.0 + rise * answers) / ends if ends > 0 else math.inf


def signal_chances(steps: Walk, p: float, n: int) -> Floats:
    """Return the probabilities of a signal within 1, 2, …, `n` answers.

    The mean run length cut off at `n` is ``1 + sum(1 - chance)`` over all but the last.
    """
    if not isinstance(n, Integral) or n < 0:
        raise ValueError(f"n {n!r}: wanted a whole number from 0")
    rise = _rise(steps, p)
    size = steps.height
    here = np.zeros(size)
    here[0] = 1.0
    ended = 0.0
    chances = np.zeros(n)
    for at in range(n):
        after = np.zeros(size)
        if steps.down < size:
            after[: size - steps.down] = here[steps.down :]
        after[0] += here[1 : steps.down].sum() if steps.down > 1 else 0.0
        after[0] += here[0]
        after *= 1.0 - rise
        if steps.up < size:
            after[steps.up :] += rise * here[: size - steps.up]
        ended += rise * float(here[max(0, size - steps.up) :].sum())
        chances[at] = ended
        here = after
    return np.minimum(chances, 1.0)


def fewest_answers(steps: Walk) -> int:
    """Return how many answers the shortest possible run to a signal has."""
    return math.ceil(steps.height / steps.up)


def _rise(steps: Walk, p: float) -> float:
    if not 0 <= p <= 1:
        raise ValueError(f"p {p!r}: wanted a number from 0 to 1")
    return p if steps.event_is_up else 1.0 - p
