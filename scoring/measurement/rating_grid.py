"""Who gave which unit which category: the one layout that every figure of agreement reads.

A table of ratings turned on its side gives a figure too, only a wrong one. So a
table must say what its rows are, unless there are clearly more units than
raters; the long form (one line a rating) cannot be turned at all.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from math import isinf
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError
from scoring.values_given import is_missing, labels_given, numbers_given, unmasked

Rows = Literal["units", "raters"]
Category = Hashable

MISSING = -1
"""Code of a rating that was not given."""


@dataclass(frozen=True, slots=True, eq=False)
class RatingGrid:
    """Ratings of units by raters, each rating one of a fixed list of categories.

    Attributes
    ----------
    codes : ndarray of int, shape (units, raters)
        Place of the rating in `categories`, counted from 0; -1 where there is none.
    units, raters : tuple
        What the rows and columns are.
    categories : tuple
        The scale, in order.
    """

    codes: NDArray[np.int64]
    units: tuple[Hashable, ...]
    raters: tuple[Hashable, ...]
    categories: tuple[Category, ...]

    @property
    def counts(self) -> NDArray[np.float64]:
        """How many raters gave each unit each category, shape (units, categories)."""
        levels = np.arange(len(self.categories))
        found: NDArray[np.float64] = (
            (self.codes[:, :, None] == levels).sum(axis=1).astype(np.float64)
        )
        return found

    @property
    def complete(self) -> bool:
        """Whether every rater rated every unit."""
        return bool((self.codes != MISSING).all())


def rating_grid(
    ratings: ArrayLike | RatingGrid,
    *,
    rows: Rows | None = None,
    categories: Sequence[Category] | None = None,
) -> RatingGrid:
    """Read a table of ratings.

    Parameters
    ----------
    ratings : array-like, shape (units, raters) or (raters, units)
        Categories as numbers or words; None, NaN and the empty word are missing.
        A `RatingGrid` is given back as it is.
    rows : {"units", "raters"}, optional
        What a row of `ratings` is. May be left out only if there are more rows than
        columns: rows are then units.
    categories : sequence, optional
        The whole scale, in order. Needed where a category may never have been used,
        or where words have an order other than the alphabet's. Otherwise the
        categories that were found, sorted.

    Returns
    -------
    RatingGrid

    Raises
    ------
    DataError
        No table of two dimensions, an unclear shape, a rating outside `categories`,
        an infinite rating, a category named twice.
    """
    if isinstance(ratings, RatingGrid):
        if rows is not None or categories is not None:
            raise DataError("rows, categories", "a grid with both", "neither beside a grid")
        return ratings
    table = _table(ratings)
    if rows not in (None, "units", "raters"):
        raise DataError("rows", rows, "'units' or 'raters'")
    if rows is None and table.shape[0] <= table.shape[1] and table.size:
        raise DataError(
            "shape of the ratings",
            f"{table.shape[0]} rows and {table.shape[1]} columns",
            "more units (rows) than raters (columns), or rows='units' or rows='raters' said",
        )
    if rows == "raters":
        table = table.T
    known = scale(table.ravel(), categories)
    place = {category: code for code, category in enumerate(known)}
    codes = np.full(table.shape, MISSING, dtype=np.int64)
    for (unit, rater), value in np.ndenumerate(table):
        codes[unit, rater] = code_of(value, place, f"unit {unit}, rater {rater}")
    return RatingGrid(codes, tuple(range(table.shape[0])), tuple(range(table.shape[1])), known)


def rating_grid_from_long(
    unit: Iterable[Hashable],
    rater: Iterable[Hashable],
    rating: Iterable[Any],
    *,
    categories: Sequence[Category] | None = None,
) -> RatingGrid:
    """Read ratings in long form: one line for each rating.

    Parameters
    ----------
    unit, rater : sequence
        Who or what was rated, and by whom.
    rating : sequence
        The category; None, NaN and the empty word are missing.
    categories : sequence, optional
        The whole scale, in order, as for `rating_grid`.

    Returns
    -------
    RatingGrid
        Units and raters sorted. A rater or unit without any rating stays in it.

    Raises
    ------
    DataError
        Lengths differ, a rater rated a unit twice, a unit or rater is missing, or a
        rating is outside the scale.
    """
    of, by = labels_given(unit, "unit"), labels_given(rater, "rater")
    given = list(unmasked(rating))
    if not len(of) == len(by) == len(given):
        raise DataError("lengths", (len(of), len(by), len(given)), "as many of each")
    units, raters = in_order(set(of)), in_order(set(by))
    at = {name: row for row, name in enumerate(units)}
    column = {name: place for place, name in enumerate(raters)}
    known = scale(given, categories)
    place = {category: code for code, category in enumerate(known)}
    codes = np.full((len(units), len(raters)), MISSING, dtype=np.int64)
    seen: set[tuple[Hashable, Hashable]] = set()
    for line, (one, who, value) in enumerate(zip(of, by, given, strict=True)):
        if (one, who) in seen:
            raise DataError(f"line {line}", (one, who), "one rating of a unit by a rater")
        seen.add((one, who))
        codes[at[one], column[who]] = code_of(value, place, f"line {line}")
    return RatingGrid(codes, units, raters, known)


def scale(values: Iterable[Any], categories: Sequence[Category] | None) -> tuple[Category, ...]:
    """Return the categories in order: those named, or those found, sorted."""
    if categories is None:
        return in_order({_plain(value) for value in values if not is_missing(value)})
    named = tuple(_plain(category) for category in categories)
    if len(set(named)) != len(named) or any(is_missing(name) for name in named):
        raise DataError("categories", named, "each category once, none missing")
    return named


def code_of(value: Any, place: dict[Category, int], where: str) -> int:
    """Return the place of a rating in the scale, or -1 where it is missing."""
    if is_missing(value):
        return MISSING
    plain = _plain(value)
    if isinstance(plain, float) and isinf(plain):
        raise DataError(where, plain, "a finite rating")
    if plain not in place:
        raise DataError(where, plain, f"one of the categories {tuple(place)}")
    return place[plain]


def in_order(names: Iterable[Hashable]) -> tuple[Hashable, ...]:
    """Sort names: numbers by size, then words by the alphabet."""
    return tuple(
        sorted(
            names,
            key=lambda name: (
                (0, float(name), "")
                if isinstance(name, int | float | np.number)
                else (1, 0.0, str(name))
            ),
        )
    )


def scores_of(categories: Sequence[Category]) -> NDArray[np.float64]:
    """Return the categories' numbers, or 1, 2, 3, … where one of them is no number."""
    if categories and all(isinstance(category, int | float) for category in categories):
        return np.array([float(category) for category in categories])  # type: ignore[arg-type]
    return np.arange(1.0, len(categories) + 1)


def check_counts(counts: ArrayLike, *, equal: bool = False) -> NDArray[np.float64]:
    """Read a table of how many raters gave each unit each category.

    Parameters
    ----------
    counts : array-like, shape (units, categories)
        Whole numbers of 0 and more.
    equal : bool
        Whether each unit must have as many ratings as every other.

    Raises
    ------
    DataError
        No table of two dimensions, a count that is none, or unequal numbers of ratings.
    """
    table = numbers_given(counts, "counts", "a table of whole numbers")
    if table.ndim != 2:
        raise DataError(
            "counts", f"{table.ndim} dimensions", "units as rows, categories as columns"
        )
    if not (np.isfinite(table).all() and (table >= 0).all() and (table == np.floor(table)).all()):
        raise DataError("counts", "a value that is no count", "whole numbers of 0 and more")
    sums = table.sum(axis=1)
    if equal and sums.size and (sums != sums[0]).any():
        odd = int(np.flatnonzero(sums != sums[0])[0])
        raise DataError(
            f"unit {odd}",
            f"{sums[odd]:g} ratings",
            f"{sums[0]:g} ratings as for the first unit (rows are units, columns categories)",
        )
    return table


def _plain(value: Any) -> Category:
    """Return a numpy scalar as Python's own; refuse what cannot be a category."""
    plain = value.item() if isinstance(value, np.generic) else value
    if not isinstance(plain, Hashable):
        raise DataError("rating", plain, "a number or a word")
    return plain


def _table(ratings: ArrayLike) -> NDArray[Any]:
    try:
        table = np.asarray(unmasked(ratings), dtype=object)
    except ValueError as error:
        raise DataError("ratings", "rows of different lengths", "as many in each row") from error
    if table.ndim and not table.size:
        return np.empty((0, 0), dtype=object)
    if table.ndim != 2:
        raise DataError("ratings", f"{table.ndim} dimensions", "a table of units and raters")
    return table
