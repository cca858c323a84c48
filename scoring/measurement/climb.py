"""Newton's way up a log-likelihood, damped where it curves the wrong way."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Evaluate = Callable[[Floats], tuple[float, Floats, Floats]]

STEPS = 200
"""Newton steps at most; about ten are usual. A working judgement, no source."""

ARRIVED = 1e-8
"""Stop once a step promises to raise the log-likelihood by no more than this; parameters are then
within 1e-4 of a standard error, and the last step squares that. A working judgement."""

ROUNDING = 1e-12
"""A log-likelihood that is lower by this share is not lower: a sum of many terms is not known
better."""

LEAST_RISE = 1e-4
"""Share of the promised rise that a step must bring (Armijo L (1966), Pac J Math 16:1-3, from
memory; 1e-4 is common practice): without it a climb can swing for ever between mirror points."""

SHORTEST = 1e-6
"""Shortest share of a step that is tried. A working judgement."""

LONGEST = 2.0
"""Longest step of a parameter at once, in logits: keeps the first steps from overshooting to where
every answer is certain. A working judgement, no source."""


def climb(
    start: Floats, evaluate: Evaluate, exact: Evaluate | None = None
) -> tuple[Floats, float, Floats, int]:
    """Return where the log-likelihood is highest, its value, the information there, and the steps.

    Parameters
    ----------
    start : ndarray, shape (k,)
    evaluate : callable
        Log-likelihood, gradient (k,) and Hessian (k, k) at a point.
    exact : callable, optional
        The same at the end, where `evaluate` gives the Hessian only roughly.

    Raises
    ------
    ArithmeticError
        No maximum within `STEPS` steps.
    """
    at = start.copy()
    value, slope, hessian = evaluate(at)
    for step in range(1, STEPS + 1):
        information, damped = -hessian, 0.0
        lowest = float(np.linalg.eigvalsh(information)[0])
        scale = float(np.abs(np.diagonal(information)).max())
        if lowest < 1e-10 * scale:
            # Not a bowl here: tilt the curvature until it is one.
            damped = 1e-4 * scale - min(lowest, 0.0)
        move = np.linalg.solve(information + damped * np.eye(len(at)), slope)
        gain = float(slope @ move)
        if damped == 0.0 and gain <= ARRIVED:
            # Newton's last step doubles the digits.
            value, _, hessian = (exact or evaluate)(at + move)
            return at + move, value, -hessian, step
        move *= min(1.0, LONGEST / float(np.abs(move).max()))
        share, floor = 1.0, value - ROUNDING * (1.0 + abs(value))
        tried = evaluate(at + move)
        rise = LEAST_RISE * float(slope @ move)
        while not tried[0] >= floor + share * rise:
            share /= 2.0
            if share < SHORTEST:
                raise ArithmeticError("the log-likelihood does not rise")
            tried = evaluate(at + share * move)
        at = at + share * move
        value, slope, hessian = tried
    raise ArithmeticError(f"no maximum within {STEPS} steps")
