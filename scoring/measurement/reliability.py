"""How far a total score would repeat itself: alpha, KR-20, lambda 2, split halves.

Everything here needs every person to have met every item: persons with a
missing cell are left out, and `n` says how many were kept. For forms that
differ from person to person, use the Rasch measures or a generalizability study.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri  # type: ignore[import-untyped]
from scipy.stats import f  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import CreditTable, Floats, credit_table
from scoring.measurement.form_length import spearman_brown
from scoring.measurement.resampling import resampled_means

Interval = Literal["feldt", "bonett", "distribution-free", "bootstrap"]
INTERVALS = ("feldt", "bonett", "distribution-free", "bootstrap")

LEAST_PERSONS = 3
"""Persons below which no coefficient is given: with two, the total score has one difference.
A working judgement, no source."""

SAMPLES = 1000
"""Bootstrap samples: the ends of a 95 % interval then rest on 25 samples each. Common
practice, no source."""


@dataclass(frozen=True, slots=True)
class WithoutItem:
    """Alpha of a form without one of its items.

    Attributes
    ----------
    item : hashable
        The item left out.
    alpha : Estimate or TooLittleEvidence
        Alpha of the others.
    change : float or None
        How much alpha rises (above 0) without the item; None where there is no alpha.
    """

    item: object
    alpha: Estimate | TooLittleEvidence
    change: float | None


def cronbach_alpha(
    credit: ArrayLike | CreditTable,
    *,
    interval: Interval = "feldt",
    confidence: float = CONFIDENCE,
    standardized: bool = False,
    counts: ArrayLike | None = None,
    seed: int | np.random.Generator = 0,
) -> Estimate | TooLittleEvidence:
    """Return Cronbach's alpha, ``k / (k - 1) * (1 - sum of item variances / total variance)``.

    Parameters
    ----------
    credit : array-like, shape (persons, items), or CreditTable
        Credits on any scale. Persons with a missing cell are left out.
    interval : {"feldt", "bonett", "distribution-free", "bootstrap"}
        ``feldt``: exact F interval for the two-way model with normal errors (Feldt 1965).
        ``bonett``: normal interval of ``ln(1 - alpha)`` (Bonett 2002), items alike.
        ``distribution-free``: the same scale with a standard error from each
        person's own contribution; for few right/wrong items of unequal difficulty, and
        from about 100 persons. ``bootstrap``: percentiles over persons.
    confidence : float
        Between 0 and 1.
    standardized : bool
        Alpha of the items' correlations instead of their covariances.
    counts : array-like, optional
        How many persons have each row.
    seed : int or Generator
        For ``bootstrap`` only.

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` is the number of persons with all items. May be negative. ``items`` (one
        item), ``persons`` (fewer than 3), ``spread`` (all totals equal).

    Raises
    ------
    DataError
        The table is none; see `credit_table`.
    ValueError
        Unknown `interval`, bad `confidence`.

    Notes
    -----
    Cronbach LJ (1951), Psychometrika 16:297-334; Feldt LS (1965), Psychometrika
    30:357-370; Bonett DG (2002), J Educ Behav Stat 27:335-340; the distribution-free
    error after Maydeu-Olivares et al. (2007), Psychol Methods 12:157-176. From memory.
    The ratio of variances is the same for division by n and by n - 1.
    """
    check_confidence(confidence)
    if interval not in INTERVALS:
        raise ValueError(f"interval {interval!r}: wanted one of {', '.join(INTERVALS)}")
    table = credit_table(credit, counts=counts).complete()
    lack = lacking(table)
    if lack is not None:
        return lack
    if standardized:
        spread = table.std(axis=0)
        if (spread == 0).any():
            return TooLittleEvidence(
                "spread", "At least one item has the same credit for everybody.", len(table)
            )
        table = table / spread
    value = float(alpha_of(table))
    low, high = _ends(table, value, interval, confidence, seed)
    return Estimate(value, min(low, value), max(high, value), len(table), confidence)


def kr20(
    credit: ArrayLike | CreditTable,
    *,
    interval: Interval = "feldt",
    confidence: float = CONFIDENCE,
    counts: ArrayLike | None = None,
    seed: int | np.random.Generator = 0,
) -> Estimate | TooLittleEvidence:
    """Return KR-20: Cronbach's alpha of items that are right (1) or wrong (0).

    Parameters
    ----------
    credit : array-like, shape (persons, items)
        0 and 1; persons with a missing cell are left out.
    interval, confidence, counts, seed
        As `cronbach_alpha`. Both variances are divided by n (or both by n - 1, which is the
        same); textbooks that divide only the total's by n - 1 are off by about ``1 / n``.

    Raises
    ------
    DataError
        A credit that is neither 0 nor 1.
    """
    read = credit_table(credit, counts=counts)
    right_wrong_only(read)
    return cronbach_alpha(read, interval=interval, confidence=confidence, seed=seed)


def kr21(
    credit: ArrayLike | CreditTable | None = None,
    *,
    items: int | None = None,
    mean: float | None = None,
    variance: float | None = None,
    ddof: int = 0,
) -> float | TooLittleEvidence:
    """Return KR-21, ``k / (k - 1) * (1 - M (k - M) / (k * variance))``.

    Either from right/wrong answers or from `items`, `mean` and `variance` of number-right scores.
    It takes all items for equally hard, and lies at or below KR-20 (for `ddof` 0).

    Parameters
    ----------
    credit : array-like, shape (persons, items), optional
        0 and 1.
    items : int, optional
        Number of items, k.
    mean, variance : float, optional
        Of the scores, in items.
    ddof : int
        How the variance of `credit` is divided: by ``n - ddof``. 0 matches KR-20.

    Raises
    ------
    DataError
        Figures outside their range.
    ValueError
        Neither or both ways are given.
    """
    given = [value for value in (items, mean, variance) if value is not None]
    if credit is not None:
        if given:
            raise ValueError("wanted either credit, or items, mean and variance")
        read = credit_table(credit)
        right_wrong_only(read)
        table = read.complete()
        lack = lacking(table)
        if lack is not None:
            return lack
        total = table.sum(axis=1)
        return kr21(
            items=table.shape[1], mean=float(total.mean()), variance=float(total.var(ddof=ddof))
        )
    if items is None or mean is None or variance is None:
        raise ValueError("wanted either credit, or items, mean and variance")
    if items < 2:
        return TooLittleEvidence("items", "Only 1 item; at least 2 are needed.")
    if not 0 <= mean <= items:
        raise DataError("mean", mean, f"from 0 to {items}")
    if not (math.isfinite(variance) and variance >= 0):
        raise DataError("variance", variance, "0 or more")
    if variance == 0:
        return TooLittleEvidence("spread", "Everybody has the same score.")
    return items / (items - 1) * (1 - mean * (items - mean) / (items * variance))


def alpha_if_deleted(
    credit: ArrayLike | CreditTable, *, confidence: float = CONFIDENCE
) -> list[WithoutItem]:
    """Return alpha without each item in turn, in the order of the columns (Feldt intervals)."""
    read = credit_table(credit)
    table = read.complete()
    whole = cronbach_alpha(table, confidence=confidence)
    n, k = table.shape
    total = table.sum(axis=1)
    middle = table - table.mean(axis=0) if n else table
    parts = (middle**2).sum(axis=0)
    # Squares of the rest: total's, less twice the product with the item, plus the item's.
    left = (total - total.mean() if n else total) @ middle
    rests = float(middle.sum(axis=1) @ middle.sum(axis=1)) - 2 * left + parts
    found = []
    for at, name in enumerate(read.items):
        lean = n >= LEAST_PERSONS and k > 2 and rests[at] > 1e-9 * max(1.0, parts.sum())
        rest: Estimate | TooLittleEvidence
        if lean:
            value = float((k - 1) / (k - 2) * (1 - (parts.sum() - parts[at]) / rests[at]))
            low, high = _feldt(value, n, k - 1, confidence)
            rest = Estimate(value, min(low, value), max(high, value), n, confidence)
        else:
            rest = cronbach_alpha(np.delete(table, at, axis=1), confidence=confidence)
        change = (
            rest.value - whole.value
            if isinstance(rest, Estimate) and isinstance(whole, Estimate)
            else None
        )
        found.append(WithoutItem(name, rest, change))
    return found


def _feldt(value: float, n: int, k: int, confidence: float) -> tuple[float, float]:
    free = n - 1, (n - 1) * (k - 1)
    left, tail = max(0.0, 1 - value), (1 - confidence) / 2
    return 1 - left * float(f.ppf(1 - tail, *free)), 1 - left * float(f.ppf(tail, *free))


def guttman_lambda2(credit: ArrayLike | CreditTable) -> float | TooLittleEvidence:
    """Return Guttman's lambda 2, never below alpha (Guttman 1945, Psychometrika 10:255-282)."""
    table = credit_table(credit).complete()
    lack = lacking(table)
    if lack is not None:
        return lack
    cover = np.cov(table, rowvar=False)
    between = cover - np.diag(np.diag(cover))
    k = len(cover)
    extra = math.sqrt(k / (k - 1) * float((between**2).sum()))
    return (float(between.sum()) + extra) / float(cover.sum())


def split_half(
    credit: ArrayLike | CreditTable,
    *,
    first: ArrayLike | None = None,
    method: Literal["spearman-brown", "guttman"] = "spearman-brown",
) -> float | TooLittleEvidence:
    """Return the split-half coefficient of the whole form.

    Parameters
    ----------
    credit : array-like, shape (persons, items)
    first : array-like of bool, shape (items,), optional
        Which items make the first half; otherwise the 1st, 3rd, 5th …
    method : {"spearman-brown", "guttman"}
        The correlation of the halves stepped up to the whole, or
        ``2 * (1 - (variance A + variance B) / variance of the total)`` (Guttman-Rulon,
        lambda 4 of this split).
    """
    if method not in ("spearman-brown", "guttman"):
        raise ValueError(f"method {method!r}: wanted 'spearman-brown' or 'guttman'")
    table = credit_table(credit).complete()
    lack = lacking(table)
    if lack is not None:
        return lack
    k = table.shape[1]
    inside = np.arange(k) % 2 == 0 if first is None else np.asarray(first, dtype=np.bool_)
    if inside.shape != (k,) or inside.all() or not inside.any():
        raise DataError("first", inside, f"{k} times true or false, both kinds")
    one, other = table[:, inside].sum(axis=1), table[:, ~inside].sum(axis=1)
    if method == "guttman":
        return float(2 * (1 - (one.var() + other.var()) / (one + other).var()))
    if one.std() == 0 or other.std() == 0:
        return TooLittleEvidence("spread", "In one half everybody has the same score.", len(table))
    return spearman_brown(float(np.corrcoef(one, other)[0, 1]), 2.0)


def right_wrong_only(read: CreditTable) -> None:
    """Raise `DataError` unless every credit is 0, 1 or missing."""
    odd = np.argwhere(~np.isnan(read.credit) & (read.credit != 0) & (read.credit != 1))
    if odd.size:
        row, column = (int(at) for at in odd[0])
        where = f"person {read.persons[row]}, item {read.items[column]}"
        raise DataError(where, float(read.credit[row, column]), "0 or 1")


def lacking(table: Floats) -> TooLittleEvidence | None:
    """Return why a complete table gives no coefficient, or None."""
    n, k = table.shape
    if k < 2:
        return TooLittleEvidence("items", f"Only {counted(k, 'item')}; at least 2 are needed.", n)
    if n < LEAST_PERSONS:
        said = (
            f"Only {counted(n, 'person', 'people')} answered every item; "
            f"at least {LEAST_PERSONS} are needed."
        )
        return TooLittleEvidence("persons", said, n)
    total = table.sum(axis=1)
    # Sums of equal fractions may differ in the last place.
    if np.ptp(total) <= 1e-9 * max(1.0, float(np.abs(total).max())):
        return TooLittleEvidence(
            "spread", "Everybody has the same total; nothing tells people apart.", n
        )
    return None


def alpha_of(table: Floats) -> float:
    """Return alpha of a complete table whose totals differ."""
    k = table.shape[1]
    whole = float(table.sum(axis=1).var())
    return float(k / (k - 1) * (1 - float(table.var(axis=0).sum()) / whole))


def _ends(
    table: Floats,
    value: float,
    interval: Interval,
    confidence: float,
    seed: int | np.random.Generator,
) -> tuple[float, float]:
    n, k = table.shape
    tail = (1 - confidence) / 2
    left = max(0.0, 1 - value)
    if interval == "feldt":
        return _feldt(value, n, k, confidence)
    if interval == "bootstrap":
        drawn = bootstrap_alpha(table, np.random.default_rng(seed))
        low, high = np.quantile(drawn, (tail, 1 - tail))
        return float(low), float(high)
    z = -float(ndtri(tail))
    if interval == "bonett":
        error = math.sqrt(2 * k / ((k - 1) * (n - 2)))
    else:
        middle = table - table.mean(axis=0)
        parts, whole = (middle**2).sum(axis=1), middle.sum(axis=1) ** 2
        ratio = parts.mean() / whole.mean()
        each = k / (k - 1) * (parts - ratio * whole) / whole.mean()
        spread = float(np.sqrt((each**2).sum() / (n * (n - 1))))
        error = spread / left if left > 0 else 0.0
    return 1 - left * math.exp(z * error), 1 - left * math.exp(-z * error)


def bootstrap_alpha(table: Floats, random: np.random.Generator, samples: int = SAMPLES) -> Floats:
    """Return alpha of bootstrap samples of persons; samples without any spread are left out."""
    means, whole = bootstrap_moments(table, random, samples)
    k = table.shape[1]
    squares = means[:, k : 2 * k] - means[:, :k] ** 2
    kept = whole > 1e-12
    alphas: Floats = k / (k - 1) * (1 - squares.sum(axis=1)[kept] / whole[kept])
    return alphas


def bootstrap_moments(
    table: Floats, random: np.random.Generator, samples: int
) -> tuple[Floats, Floats]:
    """Return means of items, squares, and the total's variance, of bootstrap samples of persons."""
    total = table.sum(axis=1)
    total = total - total.mean()
    parts = np.column_stack((table, table**2, total, total**2))
    means = resampled_means(parts, samples, random)
    whole: Floats = means[:, -1] - means[:, -2] ** 2
    return means, whole
