"""Where chance alone keeps a proportion or a rate, exactly or by the normal curve.

Funnel and control charts draw these limits and judge by these tails. The exact
ones come from the binomial distribution for proportions and from Poisson's for
rates and counts.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri  # type: ignore[import-untyped]
from scipy.stats import binom, poisson  # type: ignore[import-untyped]

from scoring.evidence import DataError
from scoring.values_given import numbers_given

Floats = NDArray[np.float64]
Kind = Literal["proportion", "rate"]
Limits = Literal["interpolated", "quantile", "normal"]

LARGEST = 1e15
"""Most trials: beyond 2**53 (9e15) a double no longer tells one count from the next, and a search
for the exact limit has no end."""


def standard_error(n: ArrayLike, target: float, kind: Kind = "proportion") -> Floats:
    """Return the standard error of a proportion (binomial) or a rate (Poisson) at `target`."""
    spread = target * (1.0 - target) if kind == "proportion" else target
    found: Floats = np.sqrt(spread / np.asarray(n, dtype=float))
    return found


def chance_limits(
    n: ArrayLike,
    target: float,
    level: float = 0.95,
    *,
    kind: Kind = "proportion",
    limits: Limits = "interpolated",
) -> tuple[Floats, Floats]:
    """Return the limits between which chance keeps results of size `n`.

    Parameters
    ----------
    n : array_like
        Trials, or units of exposure (or expected events, with a target of 1).
    target : float
        True proportion, between 0 and 1 both excluded, or rate, above 0.
    level : float
        Share of results that the limits should hold, half of the rest beyond each.
    kind : {'proportion', 'rate'}
        Binomial or Poisson.
    limits : {'interpolated', 'quantile', 'normal'}
        ``interpolated``: Spiegelhalter's: with ``r`` the least count whose cumulative
        probability reaches ``q``, the limit is ``(r - a) / n`` with
        ``a = (F(r) - q) / (F(r) - F(r - 1))``. Smooth to draw.
        ``quantile``: ``r / n``. A result strictly beyond is one whose exact
        (Clopper-Pearson) interval leaves the target out.
        ``normal``: ``target`` and so many standard errors.

    Returns
    -------
    tuple of ndarray
        Lower and upper limits, cut at 0 and, for proportions, at 1.

    Raises
    ------
    ValueError
        A setting is outside its range.
    DataError
        An `n` that is missing, not above 0, or above 1e15.

    Notes
    -----
    Spiegelhalter DJ (2005), Stat Med 24:1185-1202, appendix A.1.1 (from memory). A count
    just beyond an interpolated limit is not quite as rare as the limit says; judge by
    :func:`tails`.
    """
    check_target(target, kind)
    if not 0 < level < 1:
        raise ValueError(f"level {level!r}: wanted a number between 0 and 1")
    sizes = np.atleast_1d(_sizes(n, whole=kind == "proportion" and limits != "normal"))
    if (sizes == 0).any():
        raise DataError("n", 0, "above 0")
    top = 1.0 if kind == "proportion" else np.inf
    tail = (1.0 - level) / 2.0
    ends = []
    for probability in (tail, 1.0 - tail):
        if limits == "normal":
            end = target + float(ndtri(probability)) * standard_error(sizes, target, kind)
        elif limits in ("interpolated", "quantile"):
            chance = _chance(sizes, target, kind)
            count = np.asarray(chance.ppf(probability), dtype=float)
            if limits == "interpolated":
                past = chance.cdf(count) - probability
                count = count - past / chance.pmf(count)
            end = count / sizes
        else:
            raise ValueError(f"limits {limits!r}: wanted 'interpolated', 'quantile' or 'normal'")
        ends.append(np.clip(end, 0.0, top))
    return ends[0], ends[1]


def tails(
    events: ArrayLike, n: ArrayLike, target: float, kind: Kind = "proportion"
) -> tuple[Floats, Floats]:
    """Return the exact probabilities of so few events or fewer, and of so many or more."""
    check_target(target, kind)
    counted = numbers_given(events, "events")
    chance = _chance(_sizes(n, whole=kind == "proportion"), target, kind)
    return (
        np.asarray(chance.cdf(counted), dtype=float),
        np.asarray(chance.sf(counted - 1), dtype=float),
    )


def _sizes(n: ArrayLike, whole: bool) -> Floats:
    found = numbers_given(n, "n")
    odd = ~((found >= 0) & (found <= LARGEST)) | (whole & (found != np.floor(found)))
    if odd.any():
        wanted = f"{'whole numbers ' if whole else ''}from 0 to {LARGEST:g}"
        raise DataError("n", float(found[odd][0]), wanted)
    return found


def _chance(sizes: Floats, target: float, kind: Kind) -> Any:
    return binom(sizes, target) if kind == "proportion" else poisson(sizes * target)


def check_target(target: float, kind: Kind) -> None:
    """Raise `ValueError` unless the target leaves room for chance."""
    if kind not in ("proportion", "rate"):
        raise ValueError(f"kind {kind!r}: wanted 'proportion' or 'rate'")
    if not (0 < target < (1 if kind == "proportion" else np.inf)):
        wanted = "between 0 and 1" if kind == "proportion" else "above 0"
        raise ValueError(f"target {target!r}: wanted a finite number {wanted}")
