"""Whether an item is harder for one group than for another of the same ability.

Two sites may differ in ability; that is no fault of an item. An item functions
differentially (DIF) if persons of equal score find it unequally hard by group.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import log, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import chi2, false_discovery_control, norm  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.rasch_conditional import rasch_conditional
from scoring.measurement.rating_grid import in_order
from scoring.measurement.right_wrong import Answers, Floats, answers, forms_of, usable
from scoring.values_given import labels_given, numbers_given

DELTA = 2.35
"""Logits to the delta scale of Educational Testing Service: 4 / 1.7 (Holland PW, Thayer DT (1988),
in Test Validity, from memory)."""

SMALL, LARGE = 1.0, 1.5
"""Bounds of the categories A, B, C on the delta scale (Zieky M (1993), in Differential Item
Functioning, from memory)."""

FEWEST_IN_GROUP = 10
"""Persons of each group without whom no item is compared. A working judgement, no source;
testing programmes ask for 100 and more (common practice)."""

Category = Literal["A", "B", "C"]


@dataclass(frozen=True, slots=True)
class Differential:
    """How differently one item functions in two groups.

    Attributes
    ----------
    item : hashable
    log_odds : Estimate
        Logits by which the item is harder for the focal group than for persons of the
        reference group of the same ability; `n` counts persons.
    delta : Estimate
        The same on the delta scale, ``-2.35 * log_odds``: below 0 the item is harder
        for the focal group.
    statistic, p_value : float
        Chi-square with 1 degree of freedom, and its p-value.
    q_value : float
        p-value adjusted for the number of items (Benjamini and Hochberg): flag items with a
        q-value below the false discovery rate that is wanted.
    category : {"A", "B", "C"}
        A negligible: delta below 1 in size, or not different from 0 (5 %). C large: at
        least 1.5 and more than 1 beyond chance (5 %, one-sided). B the rest.
    n_reference, n_focal : int
    """

    item: Hashable
    log_odds: Estimate
    delta: Estimate
    statistic: float
    p_value: float
    q_value: float
    category: Category
    n_reference: int
    n_focal: int


def mantel_haenszel(
    responses: ArrayLike | Answers,
    group: Sequence[Hashable],
    *,
    reference: Hashable | None = None,
    items: Sequence[Hashable] | None = None,
    counts: ArrayLike | None = None,
    matching: ArrayLike | None = None,
    continuity: bool = True,
    confidence: float = CONFIDENCE,
) -> dict[Hashable, Differential | TooLittleEvidence] | TooLittleEvidence:
    """Compare two groups item by item among persons of equal score.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong, missing where not asked.
    group : sequence, shape (persons,)
        Two groups.
    reference : optional
        The group the other (focal) one is compared with; otherwise the first in sorted order.
    items : sequence, optional
        Names of the columns.
    counts : array-like of int, shape (persons,), optional
        How often each row occurs.
    matching : array-like, shape (persons,), optional
        What persons are matched on; otherwise the items met and the total score
        on them, with the studied item in it (Holland and Thayer 1988).
    continuity : bool
        Whether half a person is taken off the difference in the chi-square.
    confidence : float

    Returns
    -------
    dict of item to Differential or TooLittleEvidence, or TooLittleEvidence
        Too little for all: a group of fewer than 10 persons. For one item: no score at
        which both groups, and both right and wrong answers, occur on both sides.

    Raises
    ------
    DataError
        Not two groups; lengths differ; as `right_wrong.answers`.

    Notes
    -----
    Mantel and Haenszel's common odds ratio; the variance of its logarithm is that of Robins,
    Breslow and Greenland (1986), Biometrics 42:311-323, from memory; interval by Wald.
    """
    read, focal_row, sizes = _two_groups(responses, group, reference, items, counts, confidence)
    if min(sizes) < FEWEST_IN_GROUP:
        return _small_group(sizes)
    stratum = _strata(read, matching)
    number = int(stratum.max()) + 1
    found: dict[Hashable, Differential | TooLittleEvidence] = {}
    for column, item in enumerate(read.items):
        met = read.given[:, column] > 0
        cells = np.zeros((number, 2, 2))
        place = (stratum[met], focal_row[met], read.right[met, column].astype(np.int64))
        np.add.at(cells, place, read.counts[met])
        found[item] = _common_odds(item, cells, continuity, confidence)
    return _adjusted(found)


def rasch_differential(
    responses: ArrayLike | Answers,
    group: Sequence[Hashable],
    *,
    reference: Hashable | None = None,
    items: Sequence[Hashable] | None = None,
    counts: ArrayLike | None = None,
    confidence: float = CONFIDENCE,
) -> dict[Hashable, Differential | TooLittleEvidence] | TooLittleEvidence:
    """Compare the Rasch difficulties of two groups.

    Parameters
    ----------
    responses, group, reference, items, counts, confidence
        As for `mantel_haenszel`.

    Returns
    -------
    dict of item to Differential or TooLittleEvidence, or TooLittleEvidence
        Too little for all: a group of fewer than 10 persons, or one that cannot be
        calibrated. For one item: all right or all wrong in a group.

    Raises
    ------
    DataError
        As `mantel_haenszel`.

    Notes
    -----
    Each group is calibrated by itself (conditional maximum likelihood) with the usable items'
    difficulties summing to 0 in both. So differences are relative: they sum to 0, and one
    item that functions very differently pushes the others a little the other way.
    """
    read, focal_row, sizes = _two_groups(responses, group, reference, items, counts, confidence)
    if min(sizes) < FEWEST_IN_GROUP:
        return _small_group(sizes)
    parts = [read.part(rows=focal_row == one) for one in (0, 1)]
    dropped: dict[Hashable, TooLittleEvidence] = {}
    for part in parts:
        dropped.update(usable(part)[1])
    kept = np.array([item not in dropped for item in read.items], dtype=bool)
    fits = [rasch_conditional(part.part(columns=kept), confidence=confidence) for part in parts]
    first, second = fits
    if isinstance(first, TooLittleEvidence):
        return first
    if isinstance(second, TooLittleEvidence):
        return second
    found: dict[Hashable, Differential | TooLittleEvidence] = {}
    for item in read.items:
        if item in dropped:
            found[item] = dropped[item]
            continue
        at = first.items.index(item)
        found[item] = _told(
            item,
            float(second.difficulty[at] - first.difficulty[at]),
            sqrt(float(first.standard_error[at] ** 2 + second.standard_error[at] ** 2)),
            None,
            (round(float(first.n_answers[at])), round(float(second.n_answers[at]))),
            confidence,
        )
    return _adjusted(found)


def _two_groups(
    responses: ArrayLike | Answers,
    group: Sequence[Hashable],
    reference: Hashable | None,
    items: Sequence[Hashable] | None,
    counts: ArrayLike | None,
    confidence: float,
) -> tuple[Answers, np.ndarray[tuple[int], np.dtype[np.int64]], tuple[int, int]]:
    check_confidence(confidence)
    read = answers(responses, counts=counts, items=items)
    labels = labels_given(group, "group")
    if len(labels) != len(read.counts):
        raise DataError("group", len(labels), f"{len(read.counts)}, one for each row")
    names = in_order(set(labels))
    if len(names) != 2:
        raise DataError("group", names, "two groups")
    if reference is not None and reference not in names:
        raise DataError("reference", reference, f"one of the groups {names}")
    first = names[0] if reference is None else reference
    focal = np.array([label != first for label in labels], dtype=np.int64)
    met = read.given.any(axis=1) * read.counts
    return read, focal, (round(float(met[focal == 0].sum())), round(float(met[focal == 1].sum())))


def _small_group(sizes: tuple[int, int]) -> TooLittleEvidence:
    said = (
        f"One group has only {counted(min(sizes), 'person', 'people')}; "
        f"at least {FEWEST_IN_GROUP} are needed."
    )
    return TooLittleEvidence("persons", said, sum(sizes))


def _strata(
    read: Answers, matching: ArrayLike | None
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    if matching is None:
        keys = np.stack([forms_of(read.given)[1].astype(np.float64), read.right.sum(axis=1)])
    else:
        given = numbers_given(matching, "matching")
        if given.shape != read.counts.shape or not np.isfinite(given).all():
            raise DataError("matching", given.shape, f"{len(read.counts)} finite numbers")
        keys = given[None, :]
    of = np.unique(keys, axis=1, return_inverse=True)[1]
    return of.reshape(-1).astype(np.int64)


def _common_odds(
    item: Hashable, cells: Floats, continuity: bool, confidence: float
) -> Differential | TooLittleEvidence:
    """Return the common odds ratio of strata x (reference, focal) x (wrong, right)."""
    n_reference, n_focal = (round(float(cells[:, one].sum())) for one in (0, 1))
    # Strata with one group, or with one kind of answer, compare nothing.
    total = cells.sum(axis=(1, 2))
    cells = cells[(cells.sum(axis=2) > 0).all(axis=1) & (cells.sum(axis=1) > 0).all(axis=1)]
    total = cells.sum(axis=(1, 2))
    right, wrong = cells[:, 0, 1], cells[:, 0, 0]
    focal_right, focal_wrong = cells[:, 1, 1], cells[:, 1, 0]
    ahead, behind = right * focal_wrong / total, wrong * focal_right / total
    if not ahead.sum() > 0 or not behind.sum() > 0:
        said = (
            f"At no score do people of both groups differ both ways in item {item}, so the groups "
            "cannot be compared."
        )
        return TooLittleEvidence("both answers", said, n_reference + n_focal)
    value = log(float(ahead.sum() / behind.sum()))
    same, cross = (right + focal_wrong) / total, (wrong + focal_right) / total
    variance = float(
        (same * ahead).sum() / (2 * ahead.sum() ** 2)
        + (same * behind + cross * ahead).sum() / (2 * ahead.sum() * behind.sum())
        + (cross * behind).sum() / (2 * behind.sum() ** 2)
    )
    rows, columns = cells.sum(axis=2), cells.sum(axis=1)
    expected = rows[:, 0] * columns[:, 1] / total
    spread = (
        rows.prod(axis=1) * columns.prod(axis=1) / (total**2 * np.maximum(total - 1, 1.0))
    ).sum()
    off = max(0.0, abs(float((right - expected).sum())) - (0.5 if continuity else 0.0))
    statistic = off**2 / float(spread)
    return _told(item, value, sqrt(variance), statistic, (n_reference, n_focal), confidence)


def _told(
    item: Hashable,
    value: float,
    error: float,
    statistic: float | None,
    sizes: tuple[int, int],
    confidence: float,
) -> Differential:
    half, n = NormalDist().inv_cdf(0.5 + confidence / 2) * error, sum(sizes)
    tested = (value / error) ** 2 if statistic is None else statistic
    p_value = float(chi2.sf(tested, 1))
    size, delta_error = abs(DELTA * value), DELTA * error
    category: Category = "B"
    if size < SMALL or p_value >= 0.05:
        category = "A"
    elif size >= LARGE and (size - SMALL) / delta_error > float(norm.ppf(0.95)):
        category = "C"
    return Differential(
        item,
        Estimate(value, value - half, value + half, n, confidence),
        Estimate(-DELTA * value, -DELTA * (value + half), -DELTA * (value - half), n, confidence),
        tested,
        p_value,
        p_value,
        category,
        *sizes,
    )


def _adjusted(
    found: dict[Hashable, Differential | TooLittleEvidence],
) -> dict[Hashable, Differential | TooLittleEvidence]:
    """Set the q-values over all items compared."""
    compared = {name: one for name, one in found.items() if isinstance(one, Differential)}
    if not compared:
        return found
    adjusted = false_discovery_control([one.p_value for one in compared.values()])
    for (name, one), q_value in zip(compared.items(), adjusted.tolist(), strict=True):
        found[name] = Differential(
            one.item,
            one.log_odds,
            one.delta,
            one.statistic,
            one.p_value,
            q_value,
            one.category,
            one.n_reference,
            one.n_focal,
        )
    return found
