"""Do assessors agree: in total, item by item, and pair by pair.

A checklist's total can look well while one item is read differently by every
assessor; the items on which all agree hide it. So agreement is told item by item,
worst first, and the total says what it may hide.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.agreement_weights import Named, WeightsAre, agreement_weights
from scoring.measurement.chance_corrected import (
    Coefficient,
    Floats,
    Interval,
    ends,
    error_of,
    parts,
    too_little,
)
from scoring.measurement.fleiss import FleissKappa, fleiss_kappa
from scoring.measurement.gwet import gwet_ac1
from scoring.measurement.kappa import CohenKappa, cohen_kappa
from scoring.measurement.rating_grid import (
    MISSING,
    Category,
    RatingGrid,
    Rows,
    in_order,
    rating_grid,
    rating_grid_from_long,
    scale,
)
from scoring.values_given import is_missing, labels_given, unmasked


@dataclass(frozen=True, slots=True)
class ItemAgreement:
    """Agreement on one item of a checklist.

    Attributes
    ----------
    item : hashable
        Which.
    agreement : Estimate or TooLittleEvidence
        Share of pairs of raters who gave the same rating, 0 to 1; n is units that two rated.
    ac1 : Coefficient or TooLittleEvidence
        Gwet's AC1.
    kappa : FleissKappa or TooLittleEvidence
        Fleiss' kappa; often too little, because an item that nearly everybody does has
        nearly one category only.
    units : int
        Units that two raters or more rated on this item.
    """

    item: Hashable
    agreement: Estimate | TooLittleEvidence
    ac1: Coefficient | TooLittleEvidence
    kappa: FleissKappa | TooLittleEvidence
    units: int


@dataclass(frozen=True, slots=True)
class ItemsAgreement:
    """Agreement on each item of a checklist, and in total.

    Attributes
    ----------
    items : tuple of ItemAgreement
        Least agreement first; items with too little evidence at the end.
    agreement, ac1 : Estimate or TooLittleEvidence
        Over all items together. A unit's items are not independent, so the interval rests on
        units (n), not on ratings.
    said : str
        What the total hides, as a sentence.
    """

    items: tuple[ItemAgreement, ...]
    agreement: Estimate | TooLittleEvidence
    ac1: Estimate | TooLittleEvidence
    said: str


@dataclass(frozen=True, slots=True)
class PairAgreement:
    """How two raters agree.

    Attributes
    ----------
    first, second : hashable
        The raters.
    agreement : Estimate or TooLittleEvidence
        Share of the units both rated on which they gave the same rating.
    kappa : CohenKappa or TooLittleEvidence
        Cohen's kappa.
    ac1 : Coefficient or TooLittleEvidence
        Gwet's AC1.
    units : int
        Units that both rated.
    """

    first: Hashable
    second: Hashable
    agreement: Estimate | TooLittleEvidence
    kappa: CohenKappa | TooLittleEvidence
    ac1: Coefficient | TooLittleEvidence
    units: int


def percent_agreement(
    ratings: ArrayLike | RatingGrid,
    *,
    rows: Rows | None = None,
    categories: Sequence[Category] | None = None,
    weights: Named | ArrayLike = "identity",
    weights_are: WeightsAre | None = None,
    confidence: float = CONFIDENCE,
) -> Estimate | TooLittleEvidence:
    """Return the share of pairs of raters who gave a unit the same rating, 0 to 1.

    Parameters
    ----------
    ratings : array-like, shape (units, raters), or RatingGrid
        None and NaN are missing. Two sequences: ``numpy.column_stack([first, second])``.
    rows : {"units", "raters"}, optional
        What a row is; needed unless units outnumber raters.
    categories : sequence, optional
        The whole scale.
    weights, weights_are
        As for :func:`scoring.measurement.gwet.gwet_ac2`; 1 on the diagonal only if left out.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` is units that two or more rated. Each such unit counts alike. The interval is
        Wilson's of n trials for two raters; for more, Wilson's with the number of units
        that has the same error and the quantile of t.

    Raises
    ------
    DataError
        The table is unclear or a rating is outside the scale.
    """
    check_confidence(confidence)
    grid = rating_grid(ratings, rows=rows, categories=categories)
    matrix = agreement_weights(grid.categories, weights, weights_are=weights_are)
    counts = grid.counts
    return too_little(counts) or _share(counts, matrix, None, confidence)


def rater_pairs(
    ratings: ArrayLike | RatingGrid,
    *,
    rows: Rows | None = None,
    categories: Sequence[Category] | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
) -> tuple[PairAgreement, ...] | TooLittleEvidence:
    """Return who disagrees with whom: each pair of raters, least agreement first.

    Parameters
    ----------
    ratings, rows, categories, confidence, interval
        As for :func:`scoring.measurement.gwet.gwet_ac1`.

    Returns
    -------
    tuple of PairAgreement, or TooLittleEvidence
        Too little with fewer than two raters. Pairs that rated nothing in common are in it,
        at the end.

    Raises
    ------
    DataError
        The table is unclear or a rating is outside the scale.
    """
    grid = rating_grid(ratings, rows=rows, categories=categories)
    if len(grid.raters) < 2:
        return TooLittleEvidence(
            "raters",
            f"Only {counted(len(grid.raters), 'rater')}; at least 2 are needed.",
            len(grid.units),
        )
    names: list[Category | None] = [*grid.categories, None]
    found: list[PairAgreement] = []
    for one, other in combinations(range(len(grid.raters)), 2):
        codes = grid.codes[:, [one, other]]
        pair = RatingGrid(
            codes, grid.units, (grid.raters[one], grid.raters[other]), grid.categories
        )
        found.append(
            PairAgreement(
                grid.raters[one],
                grid.raters[other],
                percent_agreement(pair, confidence=confidence),
                cohen_kappa(
                    [names[code] for code in codes[:, 0]],
                    [names[code] for code in codes[:, 1]],
                    categories=grid.categories,
                    confidence=confidence,
                    interval=interval,
                ),
                gwet_ac1(pair, confidence=confidence, interval=interval),
                int((codes != MISSING).all(axis=1).sum()),
            )
        )
    return tuple(sorted(found, key=lambda pair: _worst_first(pair.agreement)))


def per_item(
    unit: Iterable[Hashable],
    rater: Iterable[Hashable],
    item: Iterable[Hashable],
    rating: Iterable[Any],
    *,
    categories: Sequence[Category] | None = None,
    confidence: float = CONFIDENCE,
    interval: Interval = "score",
) -> ItemsAgreement | TooLittleEvidence:
    """Return agreement on each item of a checklist, least first, and in total.

    Parameters
    ----------
    unit, rater, item, rating : sequence
        Long form, one line a rating: what was observed (one performance), by whom, which
        item of the checklist, and the rating; None and NaN are missing.
    categories : sequence, optional
        The whole scale, the same for all items. Otherwise all categories found in any item.
    confidence : float
        Between 0 and 1.
    interval : {"score", "t", "normal"}
        Of AC1 and kappa, as for :func:`scoring.measurement.gwet.gwet_ac1`.

    Returns
    -------
    ItemsAgreement or TooLittleEvidence
        Too little if there is no rating at all.

    Raises
    ------
    DataError
        Lengths differ, a rater rated an item of a unit twice, or a rating is outside the scale.
    """
    check_confidence(confidence)
    of, by = labels_given(unit, "unit"), labels_given(rater, "rater")
    what, given = labels_given(item, "item"), list(unmasked(rating))
    if not len(of) == len(by) == len(what) == len(given):
        raise DataError("lengths", (len(of), len(by), len(what), len(given)), "as many of each")
    known = scale(given, categories)
    if not any(not is_missing(value) for value in given):
        return TooLittleEvidence("ratings", "There are no ratings.", 0)
    lines: dict[Hashable, list[int]] = {name: [] for name in in_order(set(what))}
    for line, name in enumerate(what):
        lines[name].append(line)
    place = {name: number for number, name in enumerate(in_order(set(of)))}
    items: list[ItemAgreement] = []
    counts: list[Floats] = []
    clusters: list[int] = []
    for name, some in lines.items():
        grid = rating_grid_from_long(
            [of[line] for line in some],
            [by[line] for line in some],
            [given[line] for line in some],
            categories=known,
        )
        counts.append(grid.counts)
        clusters.extend(place[one] for one in grid.units)
        items.append(
            ItemAgreement(
                name,
                percent_agreement(grid, confidence=confidence),
                gwet_ac1(grid, confidence=confidence, interval=interval),
                fleiss_kappa(grid, confidence=confidence, interval=interval),
                int((grid.counts.sum(axis=1) >= 2).sum()),
            )
        )
    ordered = tuple(sorted(items, key=lambda one: (*_worst_first(one.agreement), str(one.item))))
    agreement, ac1 = _total(np.vstack(counts), np.array(clusters), confidence, interval)
    return ItemsAgreement(ordered, agreement, ac1, _said(ordered, agreement))


def _total(
    counts: Floats, clusters: NDArray[np.int64], confidence: float, interval: Interval
) -> tuple[Estimate | TooLittleEvidence, Estimate | TooLittleEvidence]:
    """Return agreement and AC1 over all items, with units (and not items) independent."""
    short = too_little(counts)
    if short is not None:
        return short, short
    rated = counts.sum(axis=1) > 0
    counts = counts[rated]
    _, numbers = np.unique(clusters[rated], return_inverse=True)
    groups = int(numbers.max()) + 1
    if groups < 2:
        few = TooLittleEvidence("units", "Only 1 unit was rated; at least 2 are needed.", groups)
        return few, few
    weights = np.eye(counts.shape[1])
    found = parts(counts, weights, "gwet")
    if found is None:  # cannot be: AC1's expected agreement never passes one half
        raise DataError("ratings", "no agreement defined", "ratings of one scale")
    low, high = ends(
        found.value,
        error_of(found.pull, numbers),
        expected=found.expected,
        n=groups,
        confidence=confidence,
        interval=interval,
    )
    return (
        _share(counts, weights, numbers, confidence),
        Estimate(found.value, low, high, groups, confidence),
    )


def _share(
    counts: Floats, weights: Floats, clusters: NDArray[np.int64] | None, confidence: float
) -> Estimate:
    """Return the mean over units of the share of pairs that agree, with Wilson's interval."""
    given = counts.sum(axis=1)
    paired = given >= 2
    some, number = counts[paired], given[paired]
    own = (some * (some @ weights - 1)).sum(axis=1) / (number * (number - 1))
    groups = None if clusters is None else np.unique(clusters[paired], return_inverse=True)[1]
    n = len(own) if groups is None else int(groups.max()) + 1
    if n < 2:
        return Estimate(float(own.mean()), None, None, n, confidence)
    # Without the n/(n - 1) of a sample's error, so that two raters give Wilson's own n.
    error = error_of(own, groups) * np.sqrt((n - 1) / n)
    low, high = ends(
        float(own.mean()),
        float(error),
        expected=0.0,
        n=n,
        confidence=confidence,
        interval="wilson" if groups is None and (number == 2).all() else "score",
    )
    return Estimate(float(own.mean()), low, high, n, confidence)


def _worst_first(agreement: Estimate | TooLittleEvidence) -> tuple[int, float]:
    return (1, 0.0) if isinstance(agreement, TooLittleEvidence) else (0, agreement.value)


def _said(items: tuple[ItemAgreement, ...], total: Estimate | TooLittleEvidence) -> str:
    worst = items[0]
    if isinstance(total, TooLittleEvidence) or isinstance(worst.agreement, TooLittleEvidence):
        return "No item was rated by two raters on two units, so nothing is known of agreement."
    said = f"Over all items raters agree in {100 * total.value:.0f} % of pairs."
    if worst.agreement.value < total.value:
        said += (
            f" The total hides items that are worse: on {worst.item} they agree in "
            f"{100 * worst.agreement.value:.0f} %."
        )
    few = sum(isinstance(one.agreement, TooLittleEvidence) for one in items)
    return said + (f" {few} items were rated by too few to say." if few else "")
