"""Who got what credit for which item: the one layout that the figures of an exam read.

Rows are persons, columns items, a cell the credit; a cell without a value is an
item that the person did not meet.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError
from scoring.measurement.rating_grid import in_order
from scoring.values_given import labels_given, numbers_given, unmasked

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class CreditTable:
    """Credits of persons for items.

    Attributes
    ----------
    credit : ndarray of float, shape (persons, items)
        Credits; NaN where the person did not meet the item.
    persons, items : tuple
        Names of rows and columns.
    """

    credit: Floats
    persons: tuple[Hashable, ...]
    items: tuple[Hashable, ...]

    def complete(self) -> Floats:
        """Return the credits of the persons who met every item, shape (persons, items)."""
        kept: Floats = self.credit[~np.isnan(self.credit).any(axis=1)]
        return kept


def credit_table(
    credit: ArrayLike | CreditTable, *, counts: ArrayLike | None = None
) -> CreditTable:
    """Read a table of credits.

    Parameters
    ----------
    credit : array-like, shape (persons, items)
        Credits, any finite numbers; None and NaN are missing. The columns and the index of a
        pandas DataFrame name items and persons; otherwise they are numbered from 1.
    counts : array-like of int, shape (persons,), optional
        How many persons have each row, for a table of answer patterns: the row is repeated.

    Raises
    ------
    DataError
        No table of numbers, an infinite credit, a name twice, counts that do not fit.
    """
    if isinstance(credit, CreditTable):
        if counts is not None:
            raise DataError("counts", "counts beside a read table", "none")
        return credit
    table = _numbers(credit)
    persons, items = table.shape
    columns, index = getattr(credit, "columns", None), getattr(credit, "index", None)
    if columns is None:
        # A list has an `index` too, which is a method.
        index = None
    named = tuple(range(1, items + 1)) if columns is None else tuple(columns)
    who: tuple[Hashable, ...]
    if len(set(named)) != len(named):
        raise DataError("items", named, "each name once")
    if counts is not None:
        times = numbers_given(counts, "counts")
        if times.shape != (persons,) or not np.isfinite(times).all() or (times < 0).any():
            raise DataError("counts", times, f"{persons} whole numbers of 0 and more")
        if (times != np.round(times)).any():
            raise DataError("counts", times, "whole numbers")
        table = np.repeat(table, times.astype(np.int64), axis=0)
        return CreditTable(table, tuple(range(1, len(table) + 1)), named)
    who = tuple(range(1, persons + 1)) if index is None else tuple(index)
    if len(set(who)) != len(who):
        raise DataError("persons", "a person with two rows", "one row for each person")
    return CreditTable(table, who, named)


def credit_table_from_long(
    person: Iterable[Hashable], item: Iterable[Hashable], credit: Iterable[Any]
) -> CreditTable:
    """Read credits in long form: one line for each person and item.

    Parameters
    ----------
    person, item : sequence
        Who answered what.
    credit : sequence
        The credit; None or NaN is missing.

    Returns
    -------
    CreditTable
        Persons and items sorted.

    Raises
    ------
    DataError
        Lengths differ, a person has two credits for one item, a credit is no number.
    """
    who, what = labels_given(person, "person"), labels_given(item, "item")
    given = list(unmasked(credit))
    if not len(who) == len(what) == len(given):
        raise DataError("lengths", (len(who), len(what), len(given)), "as many of each")
    persons, items = in_order(set(who)), in_order(set(what))
    row = {name: at for at, name in enumerate(persons)}
    column = {name: at for at, name in enumerate(items)}
    table: NDArray[Any] = np.full((len(persons), len(items)), None, dtype=object)
    seen: set[tuple[Hashable, Hashable]] = set()
    for line, cell in enumerate(zip(who, what, strict=True)):
        if cell in seen:
            raise DataError(f"line {line + 1}", cell, "one credit of a person for an item")
        seen.add(cell)
        table[row[cell[0]], column[cell[1]]] = given[line]
    return CreditTable(_numbers(table), persons, items)


def numbers(values: ArrayLike, name: str, *, missing: bool = False) -> Floats:
    """Return a list of numbers as an array, or raise what is wrong with it.

    Parameters
    ----------
    values : array-like, one dimension
    name : str
        What the list is, for the fault.
    missing : bool
        Whether NaN and None are allowed.

    Raises
    ------
    DataError
        Not one dimension, no number, infinite, or missing where that is not allowed.
    """
    array = _as_floats(values, name)
    if array.ndim != 1:
        raise DataError(name, f"{array.ndim} dimensions", "one list of numbers")
    if not missing and np.isnan(array).any():
        at = int(np.flatnonzero(np.isnan(array))[0])
        raise DataError(f"{name} {at + 1}", "nothing", "a number")
    return array


def names_of(values: Sequence[Hashable] | None, count: int, name: str) -> tuple[Hashable, ...]:
    """Return given names, checked for number and doubles, or the numbers from 1."""
    if values is None:
        return tuple(range(1, count + 1))
    named = tuple(values)
    if len(named) != count or len(set(named)) != count:
        raise DataError(name, f"{len(named)} names", f"{count} names, each once")
    return named


def _numbers(values: ArrayLike | NDArray[Any]) -> Floats:
    table = _as_floats(values, "credit")
    if table.ndim != 2:
        raise DataError("credit", f"{table.ndim} dimensions", "rows of persons, columns of items")
    return table


def _as_floats(values: ArrayLike | NDArray[Any], name: str) -> Floats:
    table = numbers_given(values, name)
    if np.isinf(table).any():
        raise DataError(name, "an infinite value", "finite numbers")
    return table
