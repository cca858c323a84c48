"""What each item of an exam does: how hard it is, whether it tells people apart, its verdict.

An item whose key is wrong shows itself: able people get it wrong more often than
weak ones. With many items some look so by chance; the verdicts control how many.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import false_discovery_control  # type: ignore[import-untyped]
from scipy.stats import t as student

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import CreditTable, Floats, credit_table
from scoring.measurement.discrimination import (
    below_zero,
    correlation,
    group_codes,
    upper_lower,
    within,
)
from scoring.measurement.distractors import OptionUse, distractor_use
from scoring.values_given import unmasked
from scoring.variation.proportion_intervals import proportion_interval

Code = Literal["too_little_evidence", "key_suspect", "too_easy", "too_hard", "fine"]

LEAST_PERSONS = 20
"""Persons below which an item gets no verdict. A working judgement, no source."""

TELLS_LITTLE = 0.95
"""An item tells next to nothing where certainly more than this share get it right (or wrong).
A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to make of an item.

    Attributes
    ----------
    code : {"too_little_evidence", "key_suspect", "too_easy", "too_hard", "fine"}
    said : str
        The same as a sentence.
    probability : float
        Adjusted for the number of items (Benjamini-Hochberg): of a sign of a wrong key
        so strong where there is nothing wrong. At most ``1 - confidence`` for ``key_suspect``.
    """

    code: Code
    said: str
    probability: float


@dataclass(frozen=True, slots=True)
class ItemFigures:
    """The figures of one item.

    Attributes
    ----------
    item : hashable
    n : int
        Persons who met it.
    difficulty : Estimate or TooLittleEvidence
        Share of right answers, or mean credit over the maximum: high is easy.
    item_total : Estimate or TooLittleEvidence
        Correlation with the score including the item (point-biserial).
    discrimination : Estimate or TooLittleEvidence
        Correlation with the score on the other items (corrected, item-rest).
    upper_lower : Estimate or TooLittleEvidence
        Mean credit of the best 27 % less that of the weakest, by the score with the item.
    options : tuple of OptionUse
        Empty without choices.
    verdict : Verdict
    """

    item: Hashable
    n: int
    difficulty: Estimate | TooLittleEvidence
    item_total: Estimate | TooLittleEvidence
    discrimination: Estimate | TooLittleEvidence
    upper_lower: Estimate | TooLittleEvidence
    options: tuple[OptionUse, ...]
    verdict: Verdict


def item_analysis(
    credit: ArrayLike | CreditTable,
    *,
    counts: ArrayLike | None = None,
    maximum: float = 1.0,
    forms: Sequence[Hashable] | None = None,
    choices: Any = None,
    keys: Mapping[Hashable, Any] | Sequence[Any] | None = None,
    options: Mapping[Hashable, Sequence[Hashable]] | None = None,
    confidence: float = CONFIDENCE,
) -> list[ItemFigures]:
    """Return the figures and the verdict of each item, in the order of the columns.

    Parameters
    ----------
    credit : array-like, shape (persons, items), or CreditTable
        Credits from 0 to `maximum`; NaN: item not met. See also `credit_table_from_long`.
    counts : array-like of int, optional
        How many persons have each row (not with `choices` or `forms`).
    maximum : float
        Full credit of every item.
    forms : sequence, shape (persons,), optional
        The form each person sat. Correlations are then taken within forms (both sides
        less their form's mean), so that a hard form does not look like weak people.
    choices : array-like, shape (persons, items), optional
        Options chosen, in the layout of `credit`.
    keys : mapping from item to option, or sequence in the order of items, optional
        The right option (or a list of them) of each item; needed with `choices`.
    options : mapping from item to sequence, optional
        What was offered.
    confidence : float
        Between 0 and 1; ``1 - confidence`` is also the false discovery rate of ``key_suspect``.

    Returns
    -------
    list of ItemFigures

    Raises
    ------
    DataError
        A credit outside 0 to `maximum`, parts that do not fit each other.

    Notes
    -----
    The rest score is the sum of the other items where everybody met all of them; with missing
    cells it is the person's mean over the other items that he met, which is the
    same but for the unit. Intervals: Wilson (right/wrong), Student's t (partial credit, cut to
    the scale), Fisher's z. An item is ``key_suspect`` where the interval of
    `discrimination` lies wholly below 0, or abler people prefer a wrong option to the key;
    within an item the smallest probability is multiplied by their number (Bonferroni), over items
    Benjamini Y, Hochberg Y (1995), J R Stat Soc B 57:289-300 (from memory). ``fine``
    means that nothing speaks against the item.
    """
    check_confidence(confidence)
    if counts is not None and (choices is not None or forms is not None):
        raise ValueError("counts: wanted without choices and forms")
    read = credit_table(credit, counts=counts)
    table = read.credit
    odd = np.argwhere(~np.isnan(table) & ((table < 0) | (table > maximum)))
    if odd.size:
        row, column = (int(at) for at in odd[0])
        where = f"person {read.persons[row]}, item {read.items[column]}"
        raise DataError(where, float(table[row, column]), f"from 0 to {maximum:g}")
    chosen, right = _choices(choices, keys, read)
    group, groups = group_codes(forms, len(table))
    met = ~np.isnan(table)
    filled = np.where(met, table, 0.0)
    whole, many = filled.sum(axis=1), met.sum(axis=1)
    sums = bool(met.all())
    found: list[ItemFigures] = []
    raw: list[float] = []
    for at, name in enumerate(read.items):
        mine = met[:, at]
        item = table[mine, at]
        other = many[mine] - 1
        rest = whole[mine] - filled[mine, at]
        total = whole[mine]
        if not sums:
            rest = np.where(other > 0, rest / np.maximum(other, 1), np.nan)
            total = total / many[mine]
        if len(read.items) < 2:
            rest = np.full(len(item), np.nan)
        inside = group[mine]
        item_in, rest_in = item, rest
        total_in = total
        used = 1
        if groups > 1:
            # One mean for each form that has both values, so that both sides rest on the same.
            both = ~np.isnan(rest)
            used = max(1, len(np.unique(inside[both])))
            item_in = within(np.where(both, item, np.nan), inside)
            rest_in, total_in = within(rest, inside), within(total, inside)
        corrected = correlation(item_in, rest_in, groups=used, confidence=confidence)
        if len(item) and np.isnan(rest).all():
            said = "There is no other item to compare with."
            corrected = TooLittleEvidence("items", said, len(item))
        uses: tuple[OptionUse, ...] = ()
        if chosen is not None and right is not None:
            offered = None if options is None else options.get(name)
            picked = [chosen[row][at] for row in np.flatnonzero(mine)]
            uses = tuple(
                distractor_use(picked, right[at], rest_in, options=offered, confidence=confidence)
            )
        signs = [] if isinstance(corrected, TooLittleEvidence) else [below_zero(corrected, used)]
        signs += [use.probability for use in uses if not use.key and use.count]
        raw.append(min(1.0, len(signs) * min(signs)) if signs else 1.0)
        found.append(
            ItemFigures(
                item=name,
                n=len(item),
                difficulty=_difficulty(item / maximum, confidence),
                item_total=correlation(
                    item if groups == 1 else within(item, inside),
                    total_in,
                    groups=1 if groups == 1 else max(1, len(np.unique(inside))),
                    confidence=confidence,
                ),
                discrimination=corrected,
                upper_lower=upper_lower(item / maximum, total_in, confidence=confidence),
                options=uses,
                verdict=Verdict("fine", "", 1.0),
            )
        )
    judged = false_discovery_control(raw) if raw else []
    return [
        replace(figures, verdict=_verdict(figures, float(probability), 1 - confidence))
        for figures, probability in zip(found, judged, strict=True)
    ]


def _difficulty(item: Floats, confidence: float) -> Estimate | TooLittleEvidence:
    n = len(item)
    if n == 0:
        return TooLittleEvidence("answers", "Nobody met this item.", 0)
    if np.isin(item, (0.0, 1.0)).all():
        return proportion_interval(float(item.sum()), n, confidence)
    value = float(item.mean())
    if n < 2 or np.ptp(item) <= 1e-12:
        return Estimate(value, None, None, n, confidence)
    half = float(student.ppf((1 + confidence) / 2, n - 1)) * float(item.std(ddof=1)) / math.sqrt(n)
    return Estimate(value, max(0.0, value - half), min(1.0, value + half), n, confidence)


def _verdict(figures: ItemFigures, probability: float, rate: float) -> Verdict:
    n, share = figures.n, figures.difficulty
    if n < LEAST_PERSONS or isinstance(share, TooLittleEvidence):
        said = (
            f"Only {counted(n, 'person', 'people')} met this item; "
            f"at least {LEAST_PERSONS} are needed."
        )
        return Verdict("too_little_evidence", said, probability)
    if probability <= rate:
        better = [use for use in figures.options if use.probability <= rate]
        if better:
            names = ", ".join(str(use.option) for use in better)
            said = f"People who do better on the rest choose {names} rather than the key. Check it."
        else:
            said = "People who do better on the rest do worse on this item. Check its key."
        return Verdict("key_suspect", said, probability)
    if share.low is not None and share.high is not None:
        if share.low > TELLS_LITTLE or (share.value == 1 and n >= LEAST_PERSONS):
            said = "Nearly everybody gets this item right. It tells next to nothing about people."
            return Verdict("too_easy", said, probability)
        if share.high < 1 - TELLS_LITTLE or (share.value == 0 and n >= LEAST_PERSONS):
            said = "Nearly nobody gets this item right. It tells next to nothing about people."
            return Verdict("too_hard", said, probability)
    if isinstance(figures.discrimination, TooLittleEvidence):
        said = f"Whether this item tells people apart is open. {figures.discrimination.said}"
        return Verdict("too_little_evidence", said, probability)
    return Verdict("fine", "Nothing speaks against this item.", probability)


def _choices(
    choices: Any, keys: Mapping[Hashable, Any] | Sequence[Any] | None, read: CreditTable
) -> tuple[list[list[Any]] | None, list[Any] | None]:
    if choices is None:
        return None, None
    if keys is None:
        raise ValueError("keys: wanted with choices")
    table = np.asarray(unmasked(choices), dtype=object)
    if table.shape != read.credit.shape:
        raise DataError("choices", f"shape {table.shape}", f"that of credit, {read.credit.shape}")
    if isinstance(keys, Mapping):
        missing = [name for name in read.items if name not in keys]
        if missing:
            raise DataError("keys", f"none for item {missing[0]}", "a key for each item")
        return table.tolist(), [keys[name] for name in read.items]
    right = list(keys)
    if len(right) != len(read.items):
        raise DataError("keys", f"{len(right)} keys", f"{len(read.items)}, one for each item")
    return table.tolist(), right
