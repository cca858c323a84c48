"""What a chart over time holds, which points set its centre line, and which break the pattern."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.evidence import DataError, Estimate
from scoring.variation.event_counts import Floats
from scoring.variation.run_rules import Rule, Signal, run_rules

LEAST_POINTS = 5
"""A baseline of fewer points than this sets no limits. A working judgement, no source."""

FIRM_POINTS = 20
"""Limits from fewer points than this are provisional: Montgomery and others ask for 20 to 25
preliminary samples (common practice, from memory)."""


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One point of a chart.

    Attributes
    ----------
    label : str
        Its name.
    time : date, datetime or None
        When.
    value : float
        What is plotted.
    n : float
        Volume behind it.
    centre, low, high : float
        Centre line and limits at this point.
    z : float
        Standard errors from the centre line.
    in_baseline : bool
        Whether it helped to set the centre line.
    """

    label: str
    time: date | None
    value: float
    n: float
    centre: float
    low: float
    high: float
    z: float
    in_baseline: bool


@dataclass(frozen=True, slots=True)
class ControlChart:
    """A chart over time.

    Attributes
    ----------
    form : str
        Which chart: ``p``, ``p'``, ``u``, ``u'``, ``c``, ``np``, ``individuals``, ….
    centre : float
        Centre line, as a share, a rate or a value (of a c chart, a count; of an np chart, the
        count at the mean volume).
    points : tuple of ChartPoint
        In order of time.
    signals : tuple of Signal
        Every rule met.
    sigma_z : float
        Laney's factor for p' and u': by how much points vary more than chance alone makes
        them; 1 for all other charts.
    baseline_points : int
        Points behind the centre line.
    provisional : bool
        Fewer than `FIRM_POINTS` of them, and no target given.
    rules : tuple of Rule
        The rules applied.
    false_alarm_every : Estimate
        Average number of points between false alarms of these rules, for normal points
        with known limits (:func:`scoring.variation.rule_run_length.run_rule_arl`).
    false_alarm_share : float or None
        Exact probability (binomial or Poisson) that a point of the mean kind charted here
        falls outside its limits with no change at all; None where the chart widens its
        limits or holds measured values.
    left_out : tuple of str
        Points without data.
    """

    form: str
    centre: float
    points: tuple[ChartPoint, ...]
    signals: tuple[Signal, ...]
    sigma_z: float
    baseline_points: int
    provisional: bool
    rules: tuple[Rule, ...]
    false_alarm_every: Estimate
    false_alarm_share: float | None
    left_out: tuple[str, ...]


def at_width(rules: tuple[Rule, ...], sigmas: float) -> tuple[Rule, ...]:
    """Return the rules with the limit of ``beyond`` at `sigmas`, and zones in thirds of it."""
    return tuple(
        Rule(r.code, r.count, r.window, r.where, r.distance * sigmas / 3.0, r.said) for r in rules
    )


def chart_signals(
    z: Floats,
    judged: Floats,
    rules: tuple[Rule, ...],
    labels: tuple[str, ...],
    sigmas: float,
    on_limit: bool,
) -> tuple[Signal, ...]:
    """Return all signals: single points by `judged` (limits as drawn), patterns by `z`."""
    found: list[Signal] = []
    for rule in rules:
        row = judged if rule.window == 1 else z
        found += run_rules(row, at_width((rule,), sigmas), labels=labels, on_limit=on_limit)
    place = {label: at for at, label in enumerate(labels)}
    return tuple(sorted(found, key=lambda signal: place[signal.at]))


def baseline_of(
    labels: tuple[str, ...], baseline: int | Sequence[Any] | None, exclude: Sequence[Any]
) -> NDArray[np.bool_]:
    """Return which points set the centre line."""
    size = len(labels)
    base = np.ones(size, dtype=bool)
    if isinstance(baseline, (int, np.integer)):
        if baseline < 1:
            raise ValueError(f"baseline {baseline!r}: wanted 1 or more")
        base[int(baseline) :] = False
    elif baseline is not None:
        base[:] = False
        base[_places(labels, baseline, "baseline")] = True
    base[_places(labels, exclude, "exclude")] = False
    return base


def _places(labels: tuple[str, ...], names: Sequence[Any], item: str) -> list[int]:
    at = {label: place for place, label in enumerate(labels)}
    written = [name.isoformat() if isinstance(name, date) else str(name) for name in names]
    for name in written:
        if name not in at:
            raise DataError(item, name, "the name of a point with data")
    return [at[name] for name in written]
