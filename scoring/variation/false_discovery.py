"""Whom to flag when many are looked at: the share of false flags is kept to what was promised.

Looking at 48 people at 5 % each flags two or three by chance alone. The rules
here keep the expected share of false ones among those flagged. Someone with so
few answers that not even the worst result could be flagged is neither flagged
nor cleared: there is too little evidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from scoring.evidence import DataError, TooLittleEvidence
from scoring.variation.chance_limits import tails
from scoring.variation.event_counts import Floats, by_name, event_counts, label_names, numbers

RATE = 0.1
"""Share of false flags among all flags that is accepted unless asked otherwise: one talk in ten
held without need. A working judgement, no source."""

STOREY_CUT = 0.5
"""Storey's lambda: p values above it are taken to be chance alone. His usual choice for few
tests (Storey 2002, from memory)."""

Method = Literal["bh", "by", "storey", "bonferroni", "holm"]
Side = Literal["above", "below", "two"]


@dataclass(frozen=True, slots=True)
class Flag:
    """One unit.

    Attributes
    ----------
    label : str
        Its name.
    p : float or None
        Its p value, or for Bayesian flags the probability that it is not beyond the limit; None
        where there is none.
    q : float or None
        Smallest rate at which it would be flagged.
    outcome : str
        ``flagged``, ``not flagged``, or ``too little evidence``.
    too_little : TooLittleEvidence or None
        Why, in the last case.
    """

    label: str
    p: float | None
    q: float | None
    outcome: str
    too_little: TooLittleEvidence | None


@dataclass(frozen=True, slots=True)
class Flags:
    """All units.

    Attributes
    ----------
    flags : tuple of Flag
        Sorted by label.
    flagged : tuple of str
        Labels of those flagged.
    rate : float
        Rate of false flags asked for.
    method : str
        How it is kept.
    expected_false : float
        For Bayesian flags the expected number of false ones among those flagged; else at
        most `rate` times the number flagged, on average over repeated data.
    n : int
        Units with a p value.
    """

    flags: tuple[Flag, ...]
    flagged: tuple[str, ...]
    rate: float
    method: str
    expected_false: float
    n: int


def adjusted_p(p_values: ArrayLike, method: Method = "bh") -> Floats:
    """Return q values: the smallest rate at which each would be flagged.

    Parameters
    ----------
    p_values : array_like
        0 to 1; NaN where missing, which stays NaN and does not count.
    method : {'bh', 'by', 'storey', 'bonferroni', 'holm'}
        Benjamini-Hochberg (independent or positively dependent tests), Benjamini-Yekutieli
        (any dependence), Storey (BH times the estimated share of true nulls, lambda
        `STOREY_CUT`, no more than 1). Bonferroni and Holm keep the chance of any false flag
        instead.

    Raises
    ------
    DataError
        A value is outside 0 to 1.
    ValueError
        The method is unknown.

    Notes
    -----
    Benjamini Y, Hochberg Y (1995), J R Stat Soc B 57:289-300; Benjamini Y, Yekutieli D (2001),
    Ann Stat 29:1165-1188; Storey JD (2002), J R Stat Soc B 64:479-498, with ``(number above
    lambda + 1) / (m (1 - lambda))`` as in Storey, Taylor and Siegmund (2004). From memory;
    checked against statsmodels.
    """
    row = numbers(p_values, "p_values")
    for place in np.flatnonzero(~(np.isnan(row) | ((row >= 0) & (row <= 1))))[:1]:
        raise DataError(f"p value in row {int(place) + 1}", float(row[place]), "from 0 to 1")
    if method not in ("bh", "by", "storey", "bonferroni", "holm"):
        raise ValueError(f"method {method!r}: wanted bh, by, storey, bonferroni or holm")
    there = ~np.isnan(row)
    p = row[there]
    size = len(p)
    order = np.argsort(p, kind="stable")
    rank = np.arange(1, size + 1)
    if method == "bonferroni":
        stepped = p[order] * size
    elif method == "holm":
        stepped = np.maximum.accumulate(p[order] * (size + 1 - rank))
    else:
        raised = p[order] * size * _factor(p, method) / rank
        stepped = np.minimum.accumulate(raised[::-1])[::-1]
    q = np.empty(size)
    q[order] = np.minimum(stepped, 1.0)
    found = np.full(len(row), np.nan)
    found[there] = q
    return found


def _factor(p: Floats, method: Method) -> float:
    """Return by what the Benjamini-Hochberg q is multiplied."""
    if method == "by":
        return float((1.0 / np.arange(1, len(p) + 1)).sum())
    if method == "storey" and len(p):
        above = int((p > STOREY_CUT).sum())
        return min(1.0, (above + 1) / (len(p) * (1 - STOREY_CUT)))
    return 1.0


def flag(
    p_values: ArrayLike,
    labels: Sequence[Any] | None = None,
    *,
    rate: float = RATE,
    method: Method = "bh",
    least_p: ArrayLike | None = None,
    n: ArrayLike | None = None,
) -> Flags | TooLittleEvidence:
    """Flag units by their p values.

    Parameters
    ----------
    p_values : array_like
        0 to 1; NaN where there is no result.
    labels : sequence, optional
        Names, each once; else 1, 2, ….
    rate : float
        Accepted share of false flags, between 0 and 1, both excluded.
    method : {'bh', 'by', 'storey', 'bonferroni', 'holm'}
        See :func:`adjusted_p`.
    least_p : array_like, optional
        The smallest p value that each unit could have had with its number of answers. Where
        not even that would be flagged beside the others' results, the outcome is
        ``too little evidence``.
    n : array_like, optional
        Answers behind each p value, told with that outcome.

    Returns
    -------
    Flags or TooLittleEvidence
        ``units``: there is no p value at all.

    Raises
    ------
    DataError
        A value is outside 0 to 1, or names or lengths do not fit.
    ValueError
        A setting is outside its range.
    """
    _check_rate(rate)
    p = numbers(p_values, "p_values")
    q = adjusted_p(p, method)
    names = label_names(labels, len(p))
    least = np.zeros(len(p)) if least_p is None else numbers(least_p, "least_p")
    if len(least) != len(p):
        raise DataError("least_p", len(least), f"one for each p value, {len(p)}")
    sizes = np.zeros(len(p)) if n is None else numbers(n, "n")
    if len(sizes) != len(p):
        raise DataError("n", len(sizes), f"one for each p value, {len(p)}")
    there = ~np.isnan(p)
    if not there.any():
        return TooLittleEvidence("units", "Nobody has a result yet.", 0)
    could = _Possible(p, rate, method)
    flags = []
    for at, name in enumerate(names):
        little = None
        if not there[at]:
            little = TooLittleEvidence("answers", "There is no result yet.", 0)
        elif q[at] > rate and not could.be_flagged(at, float(least[at])):
            said = "So few answers that not even the worst possible result could be flagged."
            little = TooLittleEvidence("answers", said, int(sizes[at]))
        outcome = "flagged" if there[at] and q[at] <= rate else "not flagged"
        flags.append(
            Flag(
                name,
                float(p[at]) if there[at] else None,
                float(q[at]) if there[at] else None,
                outcome if little is None else "too little evidence",
                little,
            )
        )
    return _gathered(flags, rate, method, None, int(there.sum()))


class _Possible:
    """Whether a unit could have been flagged beside what the others have.

    Many units share a result, and then the answer.
    """

    def __init__(self, p: Floats, rate: float, method: Method) -> None:
        self.p = p
        self.rate = rate
        self.method = method
        self.known: dict[tuple[float, float], bool] = {}

    def be_flagged(self, at: int, least: float) -> bool:
        # Flagged at the very first rank, whatever the others have: no need to look at them.
        if self.method in ("bh", "bonferroni", "holm") and least <= self.rate / len(self.p):
            return True
        own = (float(self.p[at]), least)
        if own not in self.known:
            worst = self.p.copy()
            worst[at] = least
            self.known[own] = bool(adjusted_p(worst, self.method)[at] <= self.rate)
        return self.known[own]


def flag_counts(
    events: ArrayLike,
    n: ArrayLike,
    limit: float,
    labels: Sequence[Any] | None = None,
    *,
    side: Side = "above",
    rate: float = RATE,
    method: Method = "bh",
) -> Flags | TooLittleEvidence:
    """Flag units whose failure rate is beyond a limit, by the exact binomial test.

    Parameters
    ----------
    events : array_like
        Failures of each unit, whole numbers.
    n : array_like
        Answers of each unit.
    limit : float
        The department's limit, between 0 and 1, both excluded.
    labels : sequence, optional
        Names, each once; else 1, 2, ….
    side : {'above', 'below', 'two'}
        Which side is bad. ``two`` doubles the smaller tail.
    rate : float
        Accepted share of false flags.
    method : {'bh', 'by', 'storey', 'bonferroni', 'holm'}
        See :func:`adjusted_p`.

    Returns
    -------
    Flags or TooLittleEvidence
        As :func:`flag`; units without answers have the outcome ``too little evidence``.

    Raises
    ------
    DataError
        A count or name is unusable.
    ValueError
        A setting is outside its range.
    """
    if side not in ("above", "below", "two"):
        raise ValueError(f"side {side!r}: wanted 'above', 'below' or 'two'")
    held = event_counts(events, n, labels)
    none, all_events = np.zeros_like(held.n), held.n
    p, least = (
        _tail(held.events, held.n, limit, side),
        np.minimum(
            _tail(none, held.n, limit, side),
            _tail(all_events, held.n, limit, side),
        ),
    )
    blank = np.full(len(held.left_out), np.nan)
    return flag(
        np.concatenate([p, blank]), (*held.labels, *held.left_out), rate=rate, method=method,
        least_p=np.concatenate([least, blank]), n=np.concatenate([held.n, np.zeros_like(blank)]),
    )  # fmt: skip


def _tail(events: Floats, n: Floats, limit: float, side: Side) -> Floats:
    few, many = tails(events, n, limit)
    if side == "two":
        return np.minimum(1.0, 2.0 * np.minimum(few, many))
    # Rounding of a sum of probabilities may pass 1 by its last digit.
    return np.minimum(1.0, many if side == "above" else few)


def flag_probabilities(
    probabilities: ArrayLike, labels: Sequence[Any] | None = None, *, rate: float = RATE
) -> Flags | TooLittleEvidence:
    """Flag units by their posterior probability of being beyond the limit.

    Parameters
    ----------
    probabilities : array_like
        Probability that the unit truly is beyond the limit, 0 to 1; NaN where there is none.
    labels : sequence, optional
        Names, each once; else 1, 2, ….
    rate : float
        Accepted expected share of false flags.

    Returns
    -------
    Flags or TooLittleEvidence
        `p` is the local false discovery rate ``1 - probability``, `q` the mean of it over this
        unit and all surer ones (the Bayesian false discovery rate).

    Raises
    ------
    DataError
        A value is outside 0 to 1, or names do not fit.

    Notes
    -----
    Newton MA, Noueiry A, Sarkar D, Ahlquist P (2004), Biostatistics 5:155-176 (from memory).
    Equal probabilities are flagged together or not at all.
    """
    _check_rate(rate)
    found = numbers(probabilities, "probabilities")
    names = label_names(labels, len(found))
    for name, value in zip(names, found, strict=True):
        if not (np.isnan(value) or 0 <= value <= 1):
            raise DataError(f"probability of {name}", float(value), "from 0 to 1")
    there = ~np.isnan(found)
    if not there.any():
        return TooLittleEvidence("units", "Nobody has a result yet.", 0)
    local = 1.0 - found
    ordered = np.sort(local[there])
    mean = np.cumsum(ordered) / np.arange(1, len(ordered) + 1)
    flags, false = [], 0.0
    for name, value in zip(names, local, strict=True):
        if np.isnan(value):
            little = TooLittleEvidence("answers", "There is no result yet.", 0)
            flags.append(Flag(name, None, None, "too little evidence", little))
            continue
        q = float(mean[np.searchsorted(ordered, value, side="right") - 1])
        outcome = "flagged" if q <= rate else "not flagged"
        false += float(value) if q <= rate else 0.0
        flags.append(Flag(name, float(value), q, outcome, None))
    return _gathered(flags, rate, "bayes", false, int(there.sum()))


def _gathered(flags: list[Flag], rate: float, method: str, false: float | None, n: int) -> Flags:
    flags.sort(key=lambda each: by_name(each.label))
    flagged = tuple(each.label for each in flags if each.outcome == "flagged")
    expected = rate * len(flagged) if false is None else false
    return Flags(tuple(flags), flagged, rate, method, expected, n)


def _check_rate(rate: float) -> None:
    if not 0 < rate < 1:
        raise ValueError(f"rate {rate!r}: wanted a number between 0 and 1")
