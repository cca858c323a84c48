"""Which units lie further from the target than their own volume explains.

Each unit (an operator, a site, a month) has its own limits, wide for few results
and narrow for many, so that small units are not flagged for being small. Where
units differ by more than chance throughout, the limits can be widened to that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri  # type: ignore[import-untyped]
from scipy.stats import chi2  # type: ignore[import-untyped]

from scoring.evidence import (
    TooLittleEvidence,
    counted,
)
from scoring.variation.chance_limits import (
    Floats,
    Kind,
    Limits,
    chance_limits,
    check_target,
    standard_error,
    tails,
)
from scoring.variation.event_counts import EventCounts, by_name, event_counts

LEVELS = (0.95, 0.998)
"""Warning and action limits, about two and three standard errors (Spiegelhalter 2005, from
memory)."""

LEAST_UNITS = 5
"""Fewer units than this give no target of their own and no overdispersion: each unit would be
compared mostly with itself. A working judgement, no source."""

WINSORISED = 0.1
"""Share of the z scores pulled in at each end before overdispersion is estimated, so that true
outliers do not hide themselves. Spiegelhalter 2005 uses 10 % (from memory)."""

Overdispersion = Literal["none", "multiplicative", "additive"]
Transform = Literal["none", "arcsine", "sqrt"]


@dataclass(frozen=True, slots=True)
class FunnelPoint:
    """One unit.

    Attributes
    ----------
    unit : str
        Its name.
    events, n : float
        Its count and what that is out of.
    value : float
        ``events / n``.
    limits : tuple of (float, float)
        Its limits at each level, without overdispersion.
    adjusted_limits : tuple of (float, float)
        The same with the overdispersion asked for (the normal curve); equal to
        `limits` where none was.
    z : float
        ``(value - target) / standard error``.
    z_transformed : float
        The same on the arcsine (proportions) or square-root scale (rates).
    z_adjusted : float
        `z`, or `z_transformed` where a transform was asked for, with overdispersion.
    p : float
        Exact two-sided probability of a result so far out: twice the smaller tail, at
        most 1. Without overdispersion.
    beyond : float
        Highest level that the unit lies beyond; 0 if none. Without overdispersion by the
        exact tail, which keeps what the level promises; else by `z_adjusted`.
    side : str
        ``above``, ``below`` or ``within`` (of the first level).
    can_be_beyond : bool
        Whether even the worst or the best possible result (no event, or all) could lie
        beyond the first level. False means that this unit has too few results to tell.
        A rate has no most events, so it is always True for one.
    """

    unit: str
    events: float
    n: float
    value: float
    limits: tuple[tuple[float, float], ...]
    adjusted_limits: tuple[tuple[float, float], ...]
    z: float
    z_transformed: float
    z_adjusted: float
    p: float
    beyond: float
    side: str
    can_be_beyond: bool


@dataclass(frozen=True, slots=True)
class Funnel:
    """Units compared with a target.

    Attributes
    ----------
    target : float
        Proportion or rate compared with.
    target_given : bool
        False where it is the pooled value of the units themselves.
    points : tuple of FunnelPoint
        Sorted by unit.
    levels : tuple of float
        Levels of the limits.
    phi : float or None
        Overdispersion factor, the mean squared (winsorised) z; about 1 if chance alone
        is at work. None with fewer than `LEAST_UNITS` units.
    tau2 : float or None
        Variance between units beyond chance, on the scale of the z used: 0 if there is
        none to see.
    chi2, p, df : float, float, int
        Test that chance alone is at work: sum of squared z, not winsorised, and its
        chi-squared probability. `df` is the number of units less 1.
    left_out : tuple of str
        Units without results.
    overdispersion : str
        Which adjustment `adjusted_limits` hold.
    """

    target: float
    target_given: bool
    points: tuple[FunnelPoint, ...]
    levels: tuple[float, ...]
    phi: float | None
    tau2: float | None
    chi2: float
    p: float
    df: int
    left_out: tuple[str, ...]
    overdispersion: Overdispersion


def funnel(
    events: ArrayLike,
    n: ArrayLike,
    units: Sequence[Any] | None = None,
    *,
    target: float | None = None,
    kind: Kind = "proportion",
    levels: Sequence[float] = LEVELS,
    limits: Limits = "interpolated",
    transform: Transform = "none",
    overdispersion: Overdispersion = "none",
    winsorise: float = WINSORISED,
) -> Funnel | TooLittleEvidence:
    """Compare units of different volume with a target.

    Parameters
    ----------
    events : array_like
        Events of each unit, whole numbers; NaN where missing.
    n : array_like
        Trials of each unit; for rates the exposure, or the expected number of events
        (then `target` is 1 and the value is a standardised ratio).
    units : sequence, optional
        Their names, each once; else 1, 2, ….
    target : float, optional
        What to compare with; else the pooled ``sum(events) / sum(n)``.
    kind : {'proportion', 'rate'}
        Binomial or Poisson.
    levels : sequence of float
        Levels of the limits, rising.
    limits : {'interpolated', 'quantile', 'normal'}
        See :func:`scoring.variation.chance_limits.chance_limits`.
    transform : {'none', 'arcsine', 'sqrt'}
        Scale of the z scores from which overdispersion is estimated:
        ``2 sqrt(n) (asin sqrt(value) - asin sqrt(target))``, variance ``1 / (4 n)``, or the
        same with square roots alone for rates.
    overdispersion : {'none', 'multiplicative', 'additive'}
        Multiplicative: standard errors times ``sqrt(max(1, phi))``. Additive (random
        effects): ``sqrt(se**2 + tau2)``.
    winsorise : float
        Share of z scores pulled in to the quantile at each end (linear quantile, type 7)
        for `phi` and `tau2`, 0 to below 0.5; 0 for none.

    Returns
    -------
    Funnel or TooLittleEvidence
        ``units``: fewer than `LEAST_UNITS` and no target given, or overdispersion asked
        for. ``difference``: no event at all, or nothing but events.

    Raises
    ------
    DataError
        A count or name is unusable; see :func:`scoring.variation.event_counts.event_counts`.
    ValueError
        A setting is outside its range.

    Notes
    -----
    Spiegelhalter DJ (2005), Stat Med 24:1185-1202 (from memory; formulas also read in
    public code). ``tau2 = max(0, (I phi - (I - 1)) / (W - sum(w**2) / W))`` with
    ``w = 1 / se**2`` and ``W = sum(w)`` is the moment estimate of DerSimonian R, Laird N
    (1986), Control Clin Trials 7:177-188; ``winsorise=0`` gives theirs with the squared
    distances taken from the target.

    The target, when pooled, is treated as known, which is the usual choice; with few
    units a unit then weighs on its own yardstick.
    """
    _check_settings(levels, transform, overdispersion, winsorise, kind)
    held = event_counts(events, n, units, out_of=kind == "proportion")
    size = len(held.labels)
    if size == 0 or (size < LEAST_UNITS and (target is None or overdispersion != "none")):
        said = f"Only {counted(size, 'unit')} with results; at least"
        needed = LEAST_UNITS if target is None or overdispersion != "none" else 1
        return TooLittleEvidence("units", f"{said} {needed} are needed.", size)
    aim = float(held.events.sum() / held.n.sum()) if target is None else float(target)
    if target is None and (aim <= 0 or (kind == "proportion" and aim >= 1)):
        return TooLittleEvidence(
            "difference", "All units have the same result, so there is nothing to compare.", size
        )
    check_target(aim, kind)
    return _compared(
        held, aim, target is not None, kind, tuple(levels), limits, transform, overdispersion,
        winsorise,
    )  # fmt: skip


def _compared(
    held: EventCounts,
    aim: float,
    given: bool,
    kind: Kind,
    levels: tuple[float, ...],
    limits: Limits,
    transform: Transform,
    overdispersion: Overdispersion,
    winsorise: float,
) -> Funnel:
    value = held.events / held.n
    error = standard_error(held.n, aim, kind)
    z = (value - aim) / error
    changed = 2.0 * np.sqrt(held.n) * (_changed(value, kind) - float(_changed(aim, kind)))
    own, own_error = (z, error) if transform == "none" else (changed, 0.5 / np.sqrt(held.n))
    size = len(value)
    phi, tau2 = (None, None) if size < LEAST_UNITS else _excess(own, own_error, winsorise)
    factor = np.ones(size)
    if overdispersion == "multiplicative" and phi is not None:
        factor[:] = np.sqrt(max(1.0, phi))
    elif overdispersion == "additive" and tau2 is not None:
        factor = np.sqrt(1.0 + tau2 / own_error**2)
    plain = [chance_limits(held.n, aim, level, kind=kind, limits=limits) for level in levels]
    widened = plain
    if overdispersion != "none":
        widened = [_widened(aim, own_error * factor, level, kind, transform) for level in levels]
    few, many = tails(held.events, held.n, aim, kind)
    p = np.minimum(1.0, 2.0 * np.minimum(few, many))
    judged = p if overdispersion == "none" else _two_sided(own / factor)
    least, most = _extremes(held.n, aim, kind)
    squares = float(own @ own)
    points = [
        FunnelPoint(
            unit=held.labels[at],
            events=float(held.events[at]),
            n=float(held.n[at]),
            value=float(value[at]),
            limits=tuple((float(low[at]), float(high[at])) for low, high in plain),
            adjusted_limits=tuple((float(low[at]), float(high[at])) for low, high in widened),
            z=float(z[at]),
            z_transformed=float(changed[at]),
            z_adjusted=float(own[at] / factor[at]),
            p=float(p[at]),
            beyond=max((level for level in levels if judged[at] <= 1 - level), default=0.0),
            side=_side(value[at] - aim, judged[at] <= 1 - levels[0]),
            can_be_beyond=bool(min(least[at], most[at]) <= (1 - levels[0]) / 2),
        )
        for at in sorted(range(size), key=lambda at: by_name(held.labels[at]))
    ]
    return Funnel(
        target=aim,
        target_given=given,
        points=tuple(points),
        levels=levels,
        phi=phi,
        tau2=tau2,
        chi2=squares,
        p=float(chi2.sf(squares, size - 1)) if size > 1 else 1.0,
        df=size - 1,
        left_out=held.left_out,
        overdispersion=overdispersion,
    )


def _changed(value: Any, kind: Kind) -> Any:
    """Return the value on the scale where its variance is 1 / (4 n)."""
    root = np.sqrt(value)
    return np.arcsin(root) if kind == "proportion" else root


def _excess(z: Floats, error: Floats, winsorise: float) -> tuple[float, float]:
    low, high = np.quantile(z, (winsorise, 1.0 - winsorise))
    phi = float(np.mean(np.clip(z, low, high) ** 2))
    weight = error**-2.0
    total = float(weight.sum())
    extra = len(z) * phi - (len(z) - 1)
    return phi, max(0.0, extra / (total - float(weight @ weight) / total))


def _widened(
    aim: float, error: Floats, level: float, kind: Kind, transform: Transform
) -> tuple[Floats, Floats]:
    half = float(ndtri(0.5 + level / 2.0)) * error
    if transform == "none":
        low, high = aim - half, aim + half
    else:
        middle = float(_changed(aim, kind))
        # Beyond the ends of the scale the back-transform would turn round.
        top = np.pi / 2 if kind == "proportion" else np.inf
        ends = np.clip(middle - half, 0.0, top), np.clip(middle + half, 0.0, top)
        low, high = ((np.sin(end) if kind == "proportion" else end) ** 2 for end in ends)
    return np.clip(low, 0.0, None), np.clip(high, None, 1.0 if kind == "proportion" else np.inf)


def _two_sided(z: Floats) -> Floats:
    from_normal: Floats = chi2.sf(z**2, 1)
    return from_normal


def _extremes(n: Floats, aim: float, kind: Kind) -> tuple[Floats, Floats]:
    """Return the probability of no event, and of nothing but events."""
    few, _ = tails(np.zeros_like(n), n, aim, kind)
    return few, tails(n, n, aim, kind)[1] if kind == "proportion" else np.zeros_like(n)


def _side(difference: float, beyond: bool) -> str:
    if not beyond:
        return "within"
    return "above" if difference > 0 else "below"


def _check_settings(
    levels: Sequence[float],
    transform: Transform,
    overdispersion: Overdispersion,
    winsorise: float,
    kind: Kind,
) -> None:
    if not levels or any(not 0 < level < 1 for level in levels) or sorted(levels) != list(levels):
        raise ValueError(f"levels {levels!r}: wanted rising numbers between 0 and 1")
    if overdispersion not in ("none", "multiplicative", "additive"):
        raise ValueError(
            f"overdispersion {overdispersion!r}: wanted none, multiplicative, additive"
        )
    scale = "arcsine" if kind == "proportion" else "sqrt"
    if transform not in ("none", scale):
        raise ValueError(f"transform {transform!r}: wanted 'none' or {scale!r} for a {kind}")
    if not 0 <= winsorise < 0.5:
        raise ValueError(f"winsorise {winsorise!r}: wanted a share from 0 to below 0.5")
