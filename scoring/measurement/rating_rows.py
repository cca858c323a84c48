"""Ratings in long form, coded; and which raters are tied together by persons they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import coo_matrix  # type: ignore[import-untyped]
from scipy.sparse.csgraph import connected_components  # type: ignore[import-untyped]

from scoring.evidence import DataError
from scoring.measurement.g_cells import Codes, Floats
from scoring.values_given import labels_given, numbers_given


@dataclass(frozen=True, slots=True)
class RatingRows:
    """Ratings that are there, coded.

    Attributes
    ----------
    scores : ndarray, shape (n,)
    rater, person, item : ndarray, shape (n,)
        Codes from 0.
    raters : list
        Labels of raters, sorted.
    persons, items : int
    """

    scores: Floats
    rater: Codes
    person: Codes
    item: Codes
    raters: list[str | int]
    persons: int
    items: int


def rating_rows(
    scores: ArrayLike,
    raters: Sequence[Any],
    persons: Sequence[Any],
    items: Sequence[Any] | None,
    binary: bool,
) -> RatingRows:
    """Return coded ratings; missing scores are left out.

    Raises
    ------
    DataError
        Lengths differ, a label is missing, a score is infinite or (binary) not 0 or 1, or a
        rater rated the same person on the same item twice.
    """
    values = numbers_given(scores, "scores", "numbers, or nothing where missing").ravel()
    columns = {
        "raters": labels_given(raters, "raters"),
        "persons": labels_given(persons, "persons"),
    }
    columns["items"] = ["all"] * len(values) if items is None else labels_given(items, "items")
    for name, held in columns.items():
        if len(held) != len(values):
            raise DataError(name, len(held), f"{len(values)}, one for each score")
    kept = ~np.isnan(values)
    there = [int(row) for row in np.flatnonzero(kept)]
    for row in there:
        wrong = values[row] not in (0.0, 1.0) if binary else not np.isfinite(values[row])
        if wrong:
            raise DataError(
                f"row {row}", float(values[row]), "0 or 1" if binary else "a finite score"
            )
    seen: set[tuple[Any, Any, Any]] = set()
    for row in there:
        cell = (columns["raters"][row], columns["persons"][row], columns["items"][row])
        if cell in seen:
            raise DataError(f"row {row}", cell, "one rating of a person on an item by a rater")
        seen.add(cell)
    codes, names = {}, {}
    for name, held in columns.items():
        rated = [held[row] for row in there]
        names[name] = sorted(set(rated), key=lambda label: (str(type(label)), label))
        place = {label: code for code, label in enumerate(names[name])}
        codes[name] = np.array([place[label] for label in rated], dtype=np.int64)
    return RatingRows(
        values[kept],
        codes["raters"],
        codes["persons"],
        codes["items"],
        names["raters"],
        len(names["persons"]),
        len(names["items"]),
    )


def persons_rated(rows: RatingRows) -> Codes:
    """Return how many persons each rater rated, shape (raters,)."""
    pairs = np.unique(rows.rater * rows.persons + rows.person)
    return np.bincount(pairs // rows.persons, minlength=len(rows.raters)).astype(np.int64)


def groups(rows: RatingRows) -> list[list[str | int]]:
    """Return raters in groups tied together by persons whom more than one of them rated."""
    count = len(rows.raters)
    links = coo_matrix(
        (np.ones(len(rows.scores)), (rows.rater, count + rows.person)),
        shape=(count + rows.persons, count + rows.persons),
    )
    held = connected_components(links, directed=False)[1][:count]
    return [
        [rows.raters[k] for k in np.flatnonzero(held == label)]
        for label in dict.fromkeys(held.tolist())
    ]


def largest_group(rows: RatingRows) -> RatingRows:
    """Return the ratings of most of the raters where those are tied together, else all of them."""
    most = max(groups(rows), key=len, default=[])
    if len(most) == len(rows.raters) or 2 * len(most) <= len(rows.raters):
        return rows
    return part(rows, np.isin(rows.rater, [rows.raters.index(label) for label in most]))


def part(rows: RatingRows, keep: NDArray[np.bool_]) -> RatingRows:
    """Return some of the ratings, coded anew."""
    names, rater = np.unique(rows.rater[keep], return_inverse=True)
    persons, person = np.unique(rows.person[keep], return_inverse=True)
    items, item = np.unique(rows.item[keep], return_inverse=True)
    return RatingRows(
        rows.scores[keep],
        rater.astype(np.int64),
        person.astype(np.int64),
        item.astype(np.int64),
        [rows.raters[int(k)] for k in names],
        len(persons),
        len(items),
    )
