"""Whether counts and shares over time are steady: p, p', u, u', c and np charts.

Each point has limits for its own volume. A baseline (all points, or the first
ones, without those that are known to be odd) sets the centre line; run rules
then say which points break the pattern, and how often chance alone would.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr  # type: ignore[import-untyped]

from scoring.evidence import (
    TooLittleEvidence,
    counted,
)
from scoring.variation.chance_limits import (
    Floats,
    Kind,
    chance_limits,
    check_target,
    standard_error,
    tails,
)
from scoring.variation.chart import (
    FIRM_POINTS,
    LEAST_POINTS,
    ChartPoint,
    ControlChart,
    at_width,
    baseline_of,
    chart_signals,
)
from scoring.variation.chart_constants import chart_constants
from scoring.variation.event_counts import EventCounts, event_counts
from scoring.variation.rule_run_length import run_rule_arl
from scoring.variation.run_rules import ROUNDING, Rule, rule_set

Form = Literal["p", "p'", "u", "u'", "c", "np"]
ChartLimits = Literal["normal", "exact"]


def control_chart(
    events: ArrayLike,
    n: ArrayLike = 1,
    form: Form = "p",
    *,
    labels: Sequence[Any] | None = None,
    times: Sequence[Any] | None = None,
    sort: bool = False,
    target: float | None = None,
    baseline: int | Sequence[Any] | None = None,
    exclude: Sequence[Any] = (),
    sigmas: float = 3.0,
    limits: ChartLimits = "normal",
    rules: str | Sequence[Rule] = "western-electric",
    on_limit: bool = False,
) -> ControlChart | TooLittleEvidence:
    """Chart counts over time.

    Parameters
    ----------
    events : array_like
        Events at each point (failures, faults), whole numbers; NaN where missing.
    n : array_like
        Trials (p, p', np) or units of exposure (u, u'), one for each or one for all; not
        used for c.
    form : {"p", "p'", "u", "u'", "c", "np"}
        p: share. u: rate by exposure. c, np: the counts themselves, with the exposure or, for
        np, the trials the same throughout or not (each point has its own centre line then).
        p', u': Laney's, for large volumes that vary more than chance.
    labels : sequence, optional
        Names of the points, each once; else the times where each stands once, else 1, 2, ….
    times : sequence of date or datetime, optional
        Must not fall, unless `sort`.
    sort : bool
        Put points into order of time.
    target : float, optional
        Centre line as a share (p, np), a rate (u) or a count (c); else pooled from the
        baseline, ``sum(events) / sum(n)``.
    baseline : int or sequence, optional
        How many first points, or which names, set the centre line; else all.
    exclude : sequence
        Names of points that are charted but do not set the centre line (revised limits).
    sigmas : float
        Width of the limits in standard errors.
    limits : {'normal', 'exact'}
        ``exact``: binomial or Poisson quantiles with the probability that `sigmas` promise
        of a normal curve in the tails, for small volumes. Only rule ``beyond`` uses them; zone
        rules keep to standard errors. Not for p' and u'.
    rules : str or sequence of Rule
        ``beyond``, ``western-electric``, ``nelson``, or rules of one's own.
    on_limit : bool
        Whether a point exactly on a limit is a signal. Off: strictly beyond.

    Returns
    -------
    ControlChart or TooLittleEvidence
        ``points``: a baseline of fewer than `LEAST_POINTS` and no target. ``difference``: no
        event in the baseline, or nothing but events; for p' and u', no variation at all.

    Raises
    ------
    DataError
        Counts or times are unusable (:func:`scoring.variation.event_counts.event_counts`),
        or a name in `baseline` or `exclude` is no point.
    ValueError
        A setting is outside its range.

    Notes
    -----
    Limits ``centre +- sigmas * sqrt(p (1 - p) / n)`` (or ``sqrt(u / n)``), cut at 0 and 1:
    Montgomery DC, Introduction to Statistical Quality Control, chapter 7 (from memory). Laney
    DB (2002), Qual Eng 14:531-537 (from memory): z by those errors, ``sigma_z`` the mean moving
    range of neighbouring baseline points / 1.128, limits ``sigmas * sigma_z`` errors wide. It may
    be below 1, as in his paper.
    """
    _check_settings(form, sigmas, limits, target)
    chosen = rule_set(rules)
    kind: Kind = "proportion" if form in ("p", "p'", "np") else "rate"
    exposure = 1.0 if form == "c" else n
    held = event_counts(
        events, exposure, labels, times=times, sort=sort, out_of=kind == "proportion"
    )
    base = baseline_of(held.labels, baseline, exclude)
    size = int(base.sum())
    if (size < LEAST_POINTS and target is None) or not held.labels:
        needed = LEAST_POINTS if target is None else 1
        said = f"Only {counted(size, 'point')} to set limits from; at least"
        return TooLittleEvidence("points", f"{said} {needed} are needed.", size)
    centre = target
    if centre is None:
        centre = float(held.events[base].sum() / held.n[base].sum())
        if centre <= 0 or (kind == "proportion" and centre >= 1):
            what = "no event" if centre <= 0 else "nothing but events"
            said = f"The baseline holds {what}, so it does not say how much chance does."
            return TooLittleEvidence("difference", said, size)
    check_target(centre, kind)
    error = standard_error(held.n, centre, kind)
    z = (held.events / held.n - centre) / error
    factor = _laney(z[base]) if form in ("p'", "u'") else 1.0
    if factor is None:
        return TooLittleEvidence(
            "difference", "Neighbouring points do not differ, or there is only one.", size
        )
    return _charted(
        held, form, kind, centre, error * factor, z / factor, factor, base, target is None,
        sigmas, limits, chosen, on_limit,
    )  # fmt: skip


def _charted(
    held: EventCounts,
    form: Form,
    kind: Kind,
    centre: float,
    error: Floats,
    z: Floats,
    factor: float,
    base: NDArray[np.bool_],
    estimated: bool,
    sigmas: float,
    limits: ChartLimits,
    rules: tuple[Rule, ...],
    on_limit: bool,
) -> ControlChart:
    if limits == "exact":
        outside = 2.0 * float(ndtr(-sigmas))
        low, high = chance_limits(held.n, centre, 1 - outside, kind=kind, limits="quantile")
    else:
        top = 1.0 if kind == "proportion" else np.inf
        low = np.clip(centre - sigmas * error, 0.0, None)
        high = np.clip(centre + sigmas * error, None, top)
    value = held.events / held.n
    scale = held.n if form in ("np", "c") else np.ones_like(value)
    judged = _judged(z, value, low, high, sigmas, limits)
    times = held.times or (None,) * len(value)
    points = tuple(
        ChartPoint(
            label=held.labels[at],
            time=times[at],
            value=float(held.events[at] if form in ("np", "c") else value[at]),
            n=float(held.n[at]),
            centre=float(centre * scale[at]),
            low=float(low[at] * scale[at]),
            high=float(high[at] * scale[at]),
            z=float(z[at]),
            in_baseline=bool(base[at]),
        )
        for at in range(len(value))
    )
    return ControlChart(
        form=form,
        centre=float(centre * scale.mean()),
        points=points,
        signals=chart_signals(z, judged, rules, held.labels, sigmas, on_limit),
        sigma_z=factor,
        baseline_points=int(base.sum()),
        provisional=estimated and int(base.sum()) < FIRM_POINTS,
        rules=rules,
        false_alarm_every=run_rule_arl(at_width(rules, sigmas)),
        false_alarm_share=None
        if form in ("p'", "u'")
        else _outside(held.n, centre, kind, low * held.n, high * held.n, on_limit),
        left_out=held.left_out,
    )


def _judged(
    z: Floats, value: Floats, low: Floats, high: Floats, sigmas: float, limits: ChartLimits
) -> Floats:
    """Return z with points put outside, on or inside where the drawn limits are not sigmas wide."""
    if limits == "normal":
        return z
    slack = ROUNDING * np.maximum(np.abs(value), 1.0)
    on = (np.abs(value - low) <= slack) | (np.abs(value - high) <= slack)
    out = ~on & ((value < low) | (value > high))
    sign = np.where(value < low + slack, -1.0, 1.0)
    return np.where(out, sign * (sigmas + 1.0), np.where(on, sign * sigmas, 0.0))


def _outside(
    n: Floats, centre: float, kind: Kind, low: Floats, high: Floats, on_limit: bool
) -> float:
    """Return the mean exact probability of a count outside the limits."""
    slack = ROUNDING * np.maximum(n, 1.0)
    if on_limit:
        least, most = np.floor(low + slack), np.ceil(high - slack)
    else:
        least, most = np.ceil(low - slack) - 1, np.floor(high + slack) + 1
    few, _ = tails(least, n, centre, kind)
    _, many = tails(most, n, centre, kind)
    return float(np.mean(few + many))


def _laney(z: Floats) -> float | None:
    """Return sigma_z, None where it cannot be had."""
    if len(z) < 2:
        return None
    spread = float(np.mean(np.abs(np.diff(z)))) / chart_constants(2).d2
    return spread if spread > ROUNDING else None


def _check_settings(form: Form, sigmas: float, limits: ChartLimits, target: float | None) -> None:
    if form not in ("p", "p'", "u", "u'", "c", "np"):
        raise ValueError(f"form {form!r}: wanted one of p, p', u, u', c, np")
    if not 0 < sigmas < 10:
        raise ValueError(f"sigmas {sigmas!r}: wanted a number above 0 and below 10")
    if limits not in ("normal", "exact") or (limits == "exact" and form in ("p'", "u'")):
        raise ValueError(f"limits {limits!r}: wanted 'normal', or 'exact' (not for p' and u')")
    if target is not None and not np.isfinite(target):
        raise ValueError(f"target {target!r}: wanted a finite number")
