"""What counts as a number or a label in data that somebody hands in, and what as missing."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.evidence import DataError


def is_missing(value: Any) -> bool:
    """Whether a value was not given: None, NaN, the empty word, masked, or pandas' own."""
    if value is None or value is np.ma.masked or type(value).__name__ in ("NAType", "NaTType"):
        return True
    if isinstance(value, str):
        return not value
    return not isinstance(value, np.ndarray) and bool(value != value)


def unmasked(values: Any) -> Any:
    """Return a masked array as one of objects with None where masked, an iterator as a list.

    numpy itself would silently read what lies below the mask.
    """
    if isinstance(values, np.ma.MaskedArray):
        held = np.array(values, dtype=object)
        held[np.ma.getmaskarray(values)] = None
        return held
    if isinstance(values, Iterable) and not hasattr(values, "__len__"):
        return list(values)
    return values


def numbers_given(values: Any, item: str, wanted: str = "numbers") -> NDArray[np.float64]:
    """Return values of any shape as floats; what is missing (`is_missing`) becomes NaN.

    Parameters
    ----------
    values : array-like
        Numbers, or words that are numbers; also a masked array or a generator.
    item : str
        What the values are, for the fault.
    wanted : str
        What they should be, for the fault.

    Raises
    ------
    DataError
        Words, dates or complex numbers, or rows that differ in length. numpy itself would make
        days of dates.
    """
    if type(values) is np.ndarray and values.dtype == np.float64:
        return values
    held = unmasked(values)
    try:
        found = np.asarray(held)
    except ValueError as error:
        raise DataError(item, "rows of different lengths", wanted) from error
    if found.dtype.kind in "biuf":
        return found.astype(np.float64)
    if found.dtype.kind in "mM":
        raise DataError(item, "dates or times", wanted)
    flat = [_number(value, item, wanted) for value in found.ravel().tolist()]
    return np.array(flat, dtype=np.float64).reshape(found.shape)


def _number(value: Any, item: str, wanted: str) -> float:
    if is_missing(value):
        return float("nan")
    try:
        return float(value)
    except (TypeError, ValueError, OverflowError) as error:
        raise DataError(item, value, wanted) from error


def labels_given(values: Any, item: str) -> list[Any]:
    """Return labels (of people, items, raters) as a list.

    Raises
    ------
    DataError
        No list of labels, or a label that is missing or is itself a list.
    """
    if isinstance(values, str | bytes) or not isinstance(values, Iterable):
        raise DataError(item, values, "a list with a label for each value")
    found = list(unmasked(values))
    for row, label in enumerate(found):
        if not isinstance(label, Hashable) or is_missing(label):
            raise DataError(f"{item}, row {row + 1}", label, "a label")
    return found
