"""The likelihood of random intercepts: one factor eliminated in closed form, the rest dense.

``y = X b + sum of factors + residual``. With the variances relative to the residual's,
everything the likelihood asks of the data is the matrix of sums of products of
``[other factors, X, y]``, less a weighted sum over the levels of the largest factor, whose
weight depends on the level's count alone. Levels of equal count are therefore added
up once; each evaluation then costs the same for ten rows or ten million.
Method: Bates D, Maechler M, Bolker B, Walker S, J Stat Softw 67(1), 2015 (profiled
deviance); Henderson's elimination of the larger factor; from memory, checked against lme4.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack  # type: ignore[import-untyped]
from scipy.sparse import csr_array, hstack  # type: ignore[import-untyped]

Numbers = NDArray[np.float64]
Codes = NDArray[np.intp]

EXACT_IN_SINGLE = 2**24
"""Whole numbers up to here are exact in single precision (IEEE 754)."""
DENSE_LEVELS = 4000
"""Most levels of all factors but the largest: their matrix is dense (128 MB here). A working
judgement, no source."""
DENSE_CELLS = 2**26
"""Most cells of two factors that are counted densely (256 MB). A working judgement, no source."""
DENSE_SMALL = 2**18
"""Cells up to which empty ones are not worth leaving out. A working judgement, no source."""
SPARSE_BELOW = 0.02
"""Share of cells with rows below which the empty ones are left out. A working judgement."""
GROUPED_ELEMENTS = 2**25
"""Most numbers kept for the sums by count (256 MB). A working judgement, no source."""


@dataclass(frozen=True)
class Sums:
    """What the likelihood needs of the data.

    Attributes
    ----------
    n, p : int
        Rows; columns of X.
    levels : tuple of int
        Levels of each factor, in the caller's order.
    order : tuple of int
        Factors with the largest first.
    counts : ndarray
        Distinct counts of the largest factor's levels.
    how_many : ndarray
        Levels that have each count.
    products : ndarray, shape (m + p + 1, m + p + 1)
        Sums of products of ``[other factors, X, y]``.
    grouped : ndarray, shape (counts, m + p + 1, m + p + 1)
        Sums over levels of one count of the products of their totals.
    level_counts : ndarray
        Count of each level of the largest factor.
    totals : ndarray of float32 or csr_array
        Totals of ``[other factors]`` by level of the largest factor.
    edge : ndarray
        Totals of ``[X, y]`` by level of the largest factor.
    """

    n: int
    p: int
    levels: tuple[int, ...]
    order: tuple[int, ...]
    counts: Numbers
    how_many: Numbers
    products: Numbers
    grouped: Numbers
    level_counts: Numbers
    totals: Any
    edge: Numbers


def gather(
    y: Numbers, x: Numbers | None, codes: list[Codes], levels: list[int], scale: float = 1.0
) -> Sums:
    """Return the sums of rows ``y / scale`` (n,), ``x`` (n, p) and codes of each factor.

    Without ``x`` there is an intercept alone, which costs no column of ones.

    Raises
    ------
    ValueError
        More than `DENSE_LEVELS` levels outside the largest factor.
    """
    order = tuple(int(k) for k in np.argsort([-size for size in levels], kind="stable"))
    first, rest = order[0], order[1:]
    big = levels[first]
    m = sum(levels[k] for k in rest)
    if m > DENSE_LEVELS:
        raise ValueError(f"{m} levels outside the largest factor: wanted at most {DENSE_LEVELS}")
    n, p = len(y), 1 if x is None else x.shape[1]
    size = m + p + 1
    products = np.zeros((size, size))
    starts = np.cumsum([0] + [levels[k] for k in rest])
    blocks: list[Any] = []
    for k in rest:
        blocks.append(_cross(codes[first], big, codes[k], levels[k]))
    counted = blocks[0].sum(axis=1, dtype=float) if blocks else None
    if counted is None or not isinstance(blocks[0], np.ndarray):
        counted = np.bincount(codes[first], minlength=big).astype(float)

    def totals_of(code: Codes, levels_of: int, rows: Numbers | None) -> Numbers:
        """Totals of X and y by level."""
        columns = [] if x is None else list(x.T)
        found: list[Any] = []
        for column in [*columns, y]:
            found.append(np.bincount(code, weights=column, minlength=levels_of))
        found[-1] = found[-1] / scale
        if x is None:
            found.insert(0, np.bincount(code, minlength=levels_of) if rows is None else rows)
        return np.column_stack(found)

    edge = totals_of(codes[first], big, counted)
    if x is None:
        products[m, m], products[m + 1, m + 1] = n, y @ y / scale**2
        products[m, m + 1] = products[m + 1, m] = edge[:, 1].sum()
    else:
        xy = np.column_stack([x, y / scale])
        products[m:, m:] = xy.T @ xy
    for at, k in enumerate(rest):
        here = slice(int(starts[at]), int(starts[at + 1]))
        rows = np.asarray(blocks[at].sum(axis=0, dtype=float)).ravel()
        products[here, m:] = totals_of(codes[k], levels[k], rows)
        products[m:, here] = products[here, m:].T
        products[here, here] = np.diag(rows)
        for past in range(at):
            j = rest[past]
            there = slice(int(starts[past]), int(starts[past + 1]))
            both = _cross(codes[k], levels[k], codes[j], levels[j])
            products[here, there] = both if isinstance(both, np.ndarray) else both.toarray()
            products[there, here] = products[here, there].T
    totals: Any = np.zeros((big, 0), dtype=np.float32)
    if blocks and all(isinstance(block, np.ndarray) for block in blocks):
        totals = blocks[0] if len(blocks) == 1 else np.hstack(blocks)
        if big * m > DENSE_SMALL and np.count_nonzero(totals) < SPARSE_BELOW * totals.size:
            totals = csr_array(totals.astype(float))
    elif blocks:
        totals = csr_array(hstack([csr_array(block) for block in blocks]))
    counts, place = np.unique(counted, return_inverse=True)
    how_many = np.bincount(place, minlength=len(counts)).astype(float)
    grouped = np.empty((0, size, size))
    if len(counts) * size * size <= GROUPED_ELEMENTS:
        grouped = _by_count(totals, edge, place, how_many, counts[-1])
    return Sums(
        n, p, tuple(levels), order, counts, how_many, products, grouped, counted, totals, edge
    )


def _by_count(
    totals: Any, edge: Numbers, place: Codes, how_many: Numbers, largest: float
) -> Numbers:
    """Return the products of the levels' totals, added up over levels of one count."""
    m, size = totals.shape[1], totals.shape[1] + edge.shape[1]
    grouped = np.zeros((len(how_many), size, size))
    by_count = np.argsort(place, kind="stable")
    ends = np.cumsum([0, *how_many.astype(int)])
    dense = isinstance(totals, np.ndarray)
    # Sums of whole numbers that single precision holds exactly take half the time in it.
    if dense and largest**2 * float(how_many.max()) >= EXACT_IN_SINGLE:
        totals = totals.astype(float)
    for at in range(len(how_many)):
        chosen = by_count[ends[at] : ends[at + 1]]
        part, side = totals[chosen], edge[chosen]
        square = part.T @ part
        grouped[at, :m, :m] = square if dense else square.toarray()
        # The single precision counts are few enough at a time to be made double here.
        grouped[at, :m, m:] = part.T @ side
        grouped[at, m:, :m] = grouped[at, :m, m:].T
        grouped[at, m:, m:] = side.T @ side
    return grouped


def _cross(a: Codes, rows: int, b: Codes, columns: int) -> Any:
    """Return how often each level of one factor meets each of another.

    Dense in single precision (counts are below `EXACT_IN_SINGLE` or there is one cell with more
    rows than memory holds), or without the empty cells where there are too many.
    """
    if rows * columns <= DENSE_CELLS:
        found = np.bincount(a * columns + b, minlength=rows * columns)
        return found.reshape(rows, columns).astype(np.float32)
    cell, count = np.unique(a * columns + b, return_counts=True)
    return csr_array((count.astype(float), (cell // columns, cell % columns)), (rows, columns))


class Likelihood:
    """Deviance at relative standard deviations, and its slope.

    Parameters
    ----------
    sums : Sums
        What the data give.
    reml : bool
        Restricted likelihood rather than full.
    """

    def __init__(self, sums: Sums, *, reml: bool) -> None:
        self.sums = sums
        self.reml = reml
        self.df = sums.n - sums.p if reml else sums.n
        rest = sums.order[1:]
        self.m = sum(sums.levels[k] for k in rest)
        self.owner = np.repeat(np.arange(1, len(rest) + 1), [sums.levels[k] for k in rest])

    def weighted(self, weight: Numbers, by_level: Numbers) -> Numbers:
        """Return the sum over levels of weight times products of totals."""
        sums, m = self.sums, self.m
        if len(sums.grouped):
            found: Numbers = np.tensordot(weight, sums.grouped, 1)
            return found
        size = m + sums.p + 1
        out = np.zeros((size, size))
        scaled = csr_array(sums.totals).multiply(by_level[:, None]).tocsr()
        out[:m, :m] = (sums.totals.T @ scaled).toarray()
        out[:m, m:] = scaled.T @ sums.edge
        out[m:, :m] = out[:m, m:].T
        out[m:, m:] = sums.edge.T @ (by_level[:, None] * sums.edge)
        return out

    def parts(self, theta: Numbers) -> tuple[Numbers, Numbers, Numbers, float]:
        """Return the reduced products, the scale, the Cholesky factor and the log determinant."""
        sums, m = self.sums, self.m
        own = theta[list(sums.order)]
        gamma = own[0] ** 2
        reduced = sums.products - self.weighted(
            gamma / (1 + gamma * sums.counts), gamma / (1 + gamma * sums.level_counts)
        )
        scale = np.ones(len(reduced))
        scale[:m] = own[self.owner]
        full = reduced * scale * scale[:, None]
        full[np.arange(m), np.arange(m)] += 1.0
        factor, fault = lapack.dpotrf(full, lower=1)
        if fault:
            raise np.linalg.LinAlgError(f"not positive definite at {theta!r}")
        logdet = float(sums.how_many @ np.log1p(gamma * sums.counts))
        return reduced, scale, factor, logdet

    def pieces(self, theta: Numbers) -> tuple[float, float]:
        """Return the log determinant and the residual sum of squares."""
        _, _, factor, logdet = self.parts(theta)
        diagonal = np.diag(factor)
        upto = self.m + (self.sums.p if self.reml else 0)
        return logdet + 2 * float(np.log(diagonal[:upto]).sum()), float(diagonal[-1] ** 2)

    def value(self, theta: Numbers) -> float:
        """Return the profiled deviance: -2 log likelihood at the best residual variance."""
        logdet, rss = self.pieces(theta)
        return logdet + self.df * (1 + float(np.log(2 * np.pi * rss / self.df)))

    def at(self, theta: Numbers, variance: float) -> float:
        """Return -2 log likelihood at any residual variance."""
        logdet, rss = self.pieces(theta)
        return logdet + self.df * float(np.log(2 * np.pi * variance)) + rss / variance

    def with_slope(self, theta: Numbers) -> tuple[float, Numbers]:
        """Return the profiled deviance and its derivative by each relative SD."""
        sums, m, p = self.sums, self.m, self.sums.p
        reduced, scale, factor, logdet = self.parts(theta)
        diagonal = np.diag(factor)
        upto = m + (p if self.reml else 0)
        rss = float(diagonal[-1] ** 2)
        value = (
            logdet
            + 2 * float(np.log(diagonal[:upto]).sum())
            + self.df * (1 + float(np.log(2 * np.pi * rss / self.df)))
        )
        weight = np.zeros_like(factor)
        if upto:
            inverse, _ = lapack.dpotri(factor[:upto, :upto], lower=1)
            weight[:upto, :upto] = np.tril(inverse) + np.tril(inverse, -1).T
        inner = factor[:-1, :-1]
        solved, _ = lapack.dtrtrs(inner, factor[-1, :-1], lower=1, trans=1)
        toward = np.append(-solved, 1.0)
        weight += self.df / rss * np.outer(toward, toward)
        own = theta[list(sums.order)]
        gamma = own[0] ** 2
        slope = np.zeros(len(own))
        change = self.weighted(
            (1 + gamma * sums.counts) ** -2.0, (1 + gamma * sums.level_counts) ** -2.0
        )
        by_gamma = float(sums.how_many @ (sums.counts / (1 + gamma * sums.counts)))
        by_gamma -= float(np.einsum("ij,ij,i,j->", weight, change, scale, scale))
        slope[0] = 2 * own[0] * by_gamma
        if m:
            rows = 2 * np.einsum("ij,ij,j->i", weight[:m], reduced[:m], scale)
            slope[1:] = np.bincount(self.owner, weights=rows, minlength=len(own))[1:]
        out = np.empty_like(slope)
        out[list(sums.order)] = slope
        return value, out

    def coarser(self) -> list[tuple[int, int]]:
        """Return pairs (fine, coarse) of factors: a level of fine lies in one of coarse."""
        sums, found = self.sums, []
        starts = np.cumsum([0] + [sums.levels[k] for k in sums.order[1:]])
        for at, k in enumerate(sums.order[1:]):
            here = slice(int(starts[at]), int(starts[at + 1]))
            for past, j in enumerate(sums.order[: at + 1]):
                there = slice(int(starts[past - 1]), int(starts[past]))
                block = sums.products[here, there] if past else sums.totals[:, here]
                filled = np.count_nonzero(block) if isinstance(block, np.ndarray) else block.nnz
                if filled == sums.levels[j]:
                    found.append((j, k))
                if filled == sums.levels[k]:
                    found.append((k, j))
        return found

    def same(self) -> tuple[int, int] | None:
        """Return two factors that split the rows alike, if there are such."""
        pairs = set(self.coarser())
        for fine, coarse in sorted(pairs):
            if (coarse, fine) in pairs:
                return fine, coarse
        return None

    def degrees(self) -> list[float]:
        """Return degrees of freedom of each factor and of the residual, at least 1.

        Those of a factor are its levels less 1 less those of the factors that it is nested in
        (or is the crossing of): as in the table of variance of a balanced design.
        """
        sums = self.sums
        left = [float(size - 1) for size in sums.levels]
        pairs = self.coarser()
        for fine in sorted(range(len(left)), key=lambda k: sums.levels[k]):
            left[fine] -= sum(left[coarse] for other, coarse in pairs if other == fine)
            left[fine] = max(1.0, left[fine])
        return [*left, max(1.0, sums.n - sums.p - sum(left))]

    def rows(self) -> list[Numbers]:
        """Return the rows of each level of each factor."""
        sums = self.sums
        found = {sums.order[0]: sums.level_counts}
        for at, k in enumerate(sums.order[1:], start=1):
            found[k] = np.diag(sums.products)[: self.m][self.owner == at]
        return [found[k].astype(int) for k in range(len(sums.levels))]

    def effects(self, theta: Numbers) -> tuple[Numbers, Numbers]:
        """Return effects and their variances over the residual variance.

        Effects of every factor stand one after another in the caller's order. Their
        variances are conditional on b and the components.
        """
        sums, m, p = self.sums, self.m, self.sums.p
        _, scale, factor, _ = self.parts(theta)
        inner = factor[:-1, :-1]
        solved, _ = lapack.dtrtrs(inner, factor[-1, :-1], lower=1, trans=1)
        b = solved[m:]
        own = theta[list(sums.order)]
        gamma = own[0] ** 2
        shrink = gamma / (1 + gamma * sums.level_counts)
        rest = solved[:m] * scale[:m]
        big = shrink * (sums.edge[:, p] - sums.totals @ rest - sums.edge[:, :p] @ b)
        spread_rest = np.zeros(m)
        spread_big = shrink.copy()
        if m:
            small, _ = lapack.dpotri(factor[:m, :m], lower=1)
            small = np.tril(small) + np.tril(small, -1).T
            small = small * scale[:m] * scale[:m, None]
            spread_rest = np.diag(small).copy()
            whole = isinstance(sums.totals, np.ndarray)
            step = max(1, 2**22 // m)
            for low in range(0, len(shrink), step):
                part = sums.totals[low : low + step]
                part = part if whole else part.toarray()
                carried = np.einsum("ij,ij->i", part @ small, part)
                spread_big[low : low + step] += shrink[low : low + step] ** 2 * carried
        effects, spreads = {sums.order[0]: big}, {sums.order[0]: spread_big}
        for at, k in enumerate(sums.order[1:], start=1):
            effects[k], spreads[k] = rest[self.owner == at], spread_rest[self.owner == at]
        together = range(len(own))
        return (
            np.concatenate([effects[k] for k in together]),
            np.concatenate([spreads[k] for k in together]),
        )  # fmt: skip
