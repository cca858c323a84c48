"""Mean squares, tests and components of balanced designs, in closed form.

One way, and two ways crossed with repeats. Means are taken first and squares of
differences after (two passes about a centre), so that digits are not lost.
Method: Searle SR, Casella G, McCulloch CE, Variance Components, 1992, ch. 3-4; from memory,
checked against certified values and against REML.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtrc  # type: ignore[import-untyped]

from scoring.evidence import (
    DataError,
    TooLittleEvidence,
    counted,
)
from scoring.values_given import labels_given, numbers_given
from scoring.variation.mixed_likelihood import Numbers

MOSTLY_COMMON = 1e-4
"""Range over size of the values below which they are subtracted as decimals. A working judgement:
binary then has lost more than 4 of its 16 digits."""


@dataclass(frozen=True)
class Source:
    """One line of a table of variance.

    Attributes
    ----------
    name : str
        What varies.
    ss, ms : float
        Sum of squares; mean square; squared unit of the outcome.
    df : int
        Degrees of freedom.
    f, p : float or None
        Ratio to its error line and the upper tail; None where there is no error line.
    """

    name: str
    ss: float
    df: int
    ms: float
    f: float | None = None
    p: float | None = None


@dataclass(frozen=True)
class OneWay:
    """One way: groups and rows within.

    Attributes
    ----------
    between, within : Source
        Lines of the table.
    residual_sd, r_squared : float
        Root of the mean square within; share of the total sum of squares between.
    variance_between : float
        ``(MS between - MS within) / n0``, not cut at 0; n0 is the usual mean count for
        unequal groups.
    n : int
        Rows.
    """

    between: Source
    within: Source
    residual_sd: float
    r_squared: float
    variance_between: float
    n: int


@dataclass(frozen=True)
class TwoWayTable:
    """Two ways crossed, with repeats; `rows`, `columns`, `interaction`, `within`, `total`."""

    rows: Source
    columns: Source
    interaction: Source
    within: Source
    total: Source


def one_way(values: Sequence[float] | Numbers, groups: Sequence[Any]) -> OneWay | TooLittleEvidence:
    """Return the table of variance of one grouping, equal or unequal groups.

    Parameters
    ----------
    values : sequence of float, length n
        Measured values.
    groups : sequence, length n
        Label of each value's group.

    Raises
    ------
    DataError
        Lengths differ or a value is missing or infinite.
    """
    y, groups = numbers_given(values, "values"), labels_given(groups, "groups")
    if y.shape != (len(groups),):
        raise DataError("groups", len(groups), f"a label for each value, {y.shape}")
    if not np.isfinite(y).all():
        raise DataError("values", "a missing or infinite value", "finite numbers")
    labels, code = np.unique(np.asarray(groups), return_inverse=True)
    k, n = len(labels), len(y)
    if k < 2:
        return TooLittleEvidence("groups", f"Only {counted(k, 'group')}; at least 2 are needed.", k)
    if n <= k:
        return TooLittleEvidence("repeats", "No group has a second value; repeats are needed.", n)
    counts = np.bincount(code).astype(float)
    y = _about_first(y)
    y = y - y.mean()
    means = np.bincount(code, weights=y) / counts
    within = y - means[code]
    means = means + np.bincount(code, weights=within) / counts
    ss_between = float(counts @ (means - counts @ means / n) ** 2)
    ss_within = float(((y - means[code]) ** 2).sum())
    if ss_within == 0:
        return TooLittleEvidence("variance", "Values within groups do not differ at all.", n)
    ms_between, ms_within = ss_between / (k - 1), ss_within / (n - k)
    f = ms_between / ms_within
    usual = (n - float(counts @ counts) / n) / (k - 1)
    return OneWay(
        Source("between", ss_between, k - 1, ms_between, f, float(fdtrc(k - 1, n - k, f))),
        Source("within", ss_within, n - k, ms_within),
        float(np.sqrt(ms_within)),
        ss_between / (ss_between + ss_within),
        (ms_between - ms_within) / usual,
        n,
    )


def _about_first(y: Numbers) -> Numbers:
    """Return the values less the first, without the loss of digits that a large common part costs.

    Numbers that share most of their digits are taken at the shortest decimal that stands for
    them, which is how they were written down; binary had to round them.
    """
    if float(np.ptp(y)) >= MOSTLY_COMMON * float(np.abs(y).max()):
        return np.asarray(y - y[0])
    decimals = [Decimal(repr(value)) for value in y.tolist()]
    return np.array([float(value - decimals[0]) for value in decimals])


def two_way_crossed(cells: ArrayLike) -> TwoWayTable | TooLittleEvidence:
    """Return the table of variance of a full crossing; factors are random.

    Parameters
    ----------
    cells : array_like, shape (rows, columns, repeats)
        Values; the F of rows and columns is against the interaction.

    Raises
    ------
    DataError
        Another shape, or a missing or infinite value.
    """
    y = numbers_given(cells, "cells")
    if y.ndim != 3:
        raise DataError("cells", y.shape, "rows x columns x repeats")
    if not np.isfinite(y).all():
        raise DataError("cells", "a missing or infinite value", "finite numbers")
    a, b, r = y.shape
    if min(a, b, r) < 2:
        said = f"{a} rows, {b} columns, {r} repeats; at least 2 of each are needed."
        return TooLittleEvidence("repeats", said, y.size)
    y = y - y.flat[0]
    y = y - y.mean()
    cell = y.mean(axis=2)
    by_row, by_column = cell.mean(axis=1), cell.mean(axis=0)
    ss_row, ss_column = b * r * float(by_row @ by_row), a * r * float(by_column @ by_column)
    ss_pair = r * float(((cell - by_row[:, None] - by_column) ** 2).sum())
    ss_within = float(((y - cell[:, :, None]) ** 2).sum())
    if ss_within == 0 or ss_pair == 0:
        return TooLittleEvidence("variance", "Repeats or pairs do not differ at all.", y.size)
    dfs = (a - 1, b - 1, (a - 1) * (b - 1), a * b * (r - 1))
    ms_pair, ms_within = ss_pair / dfs[2], ss_within / dfs[3]

    def line(name: str, ss: float, df: int, error: float, error_df: int) -> Source:
        f = ss / df / error
        return Source(name, ss, df, ss / df, f, float(fdtrc(df, error_df, f)))

    total = float((y**2).sum())
    return TwoWayTable(
        line("rows", ss_row, dfs[0], ms_pair, dfs[2]),
        line("columns", ss_column, dfs[1], ms_pair, dfs[2]),
        line("interaction", ss_pair, dfs[2], ms_within, dfs[3]),
        Source("within", ss_within, dfs[3], ms_within),
        Source("total", total, y.size - 1, total / (y.size - 1)),
    )
