"""The few operations that differ between one trajectory and many.

An effect is written once. It is given :class:`Scalar` when it works on plain
floats, and :class:`scoring.bench.arrays.Arrays` when it works on numpy arrays,
so that a trainee's page never loads numpy.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Protocol


class Operations(Protocol):
    """What an effect may ask for besides ``+ - * /``."""

    def exp(self, x: Any) -> Any:
        """Return e to the power x."""

    def expm1(self, x: Any) -> Any:
        """Return e to the power x, minus 1, exact near 0."""

    def log(self, x: Any) -> Any:
        """Return the natural logarithm of x, x above 0."""

    def where(self, condition: Any, yes: Any, no: Any) -> Any:
        """Return `yes` where the condition holds, else `no`; both are computed."""

    def minimum(self, x: Any, y: Any) -> Any:
        """Return the smaller."""

    def maximum(self, x: Any, y: Any) -> Any:
        """Return the larger."""

    def pick(self, table: Mapping[str, float], key: Any) -> Any:
        """Return the entry of `table` for `key`: a name, or an array of names."""


class Scalar:
    """Operations on plain floats, with the standard library alone."""

    exp = staticmethod(math.exp)
    expm1 = staticmethod(math.expm1)
    log = staticmethod(math.log)

    @staticmethod
    def where(condition: Any, yes: Any, no: Any) -> Any:
        """Return `yes` when the condition holds, else `no`."""
        return yes if condition else no

    @staticmethod
    def minimum(x: Any, y: Any) -> Any:
        """Return the smaller."""
        return x if x <= y else y

    @staticmethod
    def maximum(x: Any, y: Any) -> Any:
        """Return the larger."""
        return x if x >= y else y

    @staticmethod
    def pick(table: Mapping[str, float], key: Any) -> Any:
        """Return the entry of `table` for `key`."""
        return table[key]


SCALAR = Scalar()
"""The operations used when nothing else is said."""


def mean_decay(x: Any, operations: Operations) -> Any:
    """Return (1 - exp(-x)) / x, which is 1 at x = 0.

    Parameters
    ----------
    x : float or array
        Any finite number.
    operations : Operations
        Scalar or array operations.

    Returns
    -------
    float or array
        The mean of exp(-u) for u from 0 to x.
    """
    near = abs(x) < 1e-12
    safe = operations.where(near, 1.0, x)
    return operations.where(near, 1.0, -operations.expm1(-safe) / safe)
